"""What is to be assessed and who may do it, in plain loops over rows; levels are those of the twin in plain loops."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from brute_meanings import Rows, find_levels, find_place_of, get_row, is_within


def list_rows(rows: Rows, on: date, by: date, team: str, months: int, double: str) -> list[tuple[Any, ...]]:
    """Return (person, competency, why, minutes, assessors wanted, who may) by person and competency."""
    found = []
    for person in sorted(row["id"] for row in rows["people"]):
        there = find_place_of(rows, person, on)
        if there is None or not there.role or (team and there.team != team):
            continue
        for wanted in sorted(rows["requirements"], key=lambda row: row["competency"]):
            about = get_row(rows, "competencies", wanted["competency"])
            is_needed = wanted.get("necessity", "essential") in ("blocking", "essential")
            if wanted["role"] != there.role or not is_needed or about.get("kind") == "certificate":
                continue
            why = _find_why(rows, person, about["id"], on, months)
            if why:
                two = double == "all" or (double == "safety" and about.get("safety"))
                hours = about.get("assessment_hours")
                minutes = 60 if hours is None else int(Fraction(str(hours)) * 60)
                may = _list_who_may(rows, person, there.team, wanted, on, by)
                found.append((person, about["id"], why, minutes, 2 if two else 1, may))
    return found


def _find_why(rows: Rows, person: str, competency: str, on: date, months: int) -> str:
    (level,) = find_levels(rows, person, on)[competency]
    if level.state in ("not-assessed", "lapsed", "review-due"):
        return level.state
    assert level.basis is not None
    then = level.basis["date"]
    # how many months are full by the day: one fewer where its day of the month has not come
    full = (on.year - then.year) * 12 + on.month - then.month - (on.day < then.day)
    return "old" if full > months or (full == months and on.day > then.day) else ""


def _list_who_may(rows: Rows, person: str, team: str, wanted: dict[str, Any], on: date, by: date) -> list[str]:
    may = []
    for row in rows["assessors"]:
        if row["person"] == person or not is_within(row, by) or find_place_of(rows, row["person"], by) is None:
            continue
        if row.get("teams") and team not in row["teams"]:
            continue
        if row.get("competencies"):
            is_able = wanted["competency"] in row["competencies"]
        else:
            (level,) = find_levels(rows, row["person"], on)[wanted["competency"]]
            is_able = (level.level or 0) >= wanted["level"]
        if is_able:
            may.append(row["person"])
    return sorted(may)
