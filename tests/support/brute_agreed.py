"""The courses of an agreed plan judged by going through the rows, one after the other: as its words say, no shorter."""

from __future__ import annotations

from datetime import date
from typing import Any

from drawn_companies import CERTIFICATES, Rows

#: Of one day the first of these that is there counts.
SOURCES = ("certificate", "assessor", "manager")


def judge_course(rows: Rows, plan: dict[str, Any], row: dict[str, Any], on: date) -> tuple[str, int]:
    """Return the state of a course of a plan on a day, and the days it is late."""
    if is_attended(rows, plan, row["course"], on) or is_shown(rows, plan["person"], row, on):
        return "done", 0
    if is_booked(rows, plan["person"], row["course"], on):
        return "booked", 0
    if row["first_day"] <= on <= row["last_day"]:
        return "under-way", 0
    if row["last_day"] < on:
        return "late", (on - row["last_day"]).days
    return "to-come", 0


def is_attended(rows: Rows, plan: dict[str, Any], course: str, on: date) -> bool:
    for session in list_sessions(rows, plan["person"], course, "attended"):
        if plan["agreed_on"] <= session["to_date"] <= on:
            return True
    return False


def is_booked(rows: Rows, person: str, course: str, on: date) -> bool:
    start = next(row.get("start_date") for row in rows["people"] if row["id"] == person) or date.min
    for session in list_sessions(rows, person, course, "booked"):
        if session["to_date"] >= on and session["from_date"] >= start:
            return True
    return False


def list_sessions(rows: Rows, person: str, course: str, state: str) -> list[dict[str, Any]]:
    found = []
    for booking in rows["bookings"]:
        if (booking["person"], booking["state"]) != (person, state):
            continue
        for session in rows["sessions"]:
            is_of_course = booking["session"] == session["id"] and session["course"] == course
            if is_of_course and session["state"] != "cancelled":
                found.append(session)
    return found


def is_shown(rows: Rows, person: str, row: dict[str, Any], on: date) -> bool:
    """Whether every outcome of a course has an assessment of its level since the first day; not where it has none."""
    outcomes = [outcome for outcome in rows["outcomes"] if outcome["course"] == row["course"]]
    for outcome in outcomes:
        is_seen = False
        for a in rows["assessments"]:
            is_theirs = (a["person"], a["competency"]) == (person, outcome["competency"])
            if is_theirs and row["first_day"] <= a["date"] <= on and a["level"] >= outcome["level"]:
                is_seen = is_seen or get_found(rows, person, outcome["competency"], a["date"], a) >= outcome["level"]
        if not is_seen:
            return False
    return bool(outcomes)


def get_found(rows: Rows, person: str, competency: str, day: date, seen: dict[str, Any]) -> int:
    """Return the level that stands after all assessments of a day; 0 where the one looked at does not count."""
    source = seen.get("source", "unstated")
    if competency in CERTIFICATES:
        return seen["level"] if source == "certificate" else 0
    if source not in SOURCES:
        return 0
    known = [
        a
        for a in rows["assessments"]
        if (a["person"], a["competency"]) == (person, competency) and a["date"] <= day and a.get("source") in SOURCES
    ]
    by_assessor = [a for a in known if a["source"] == "assessor"]
    if competency == "b" and by_assessor:  # where an error can hurt someone a manager raises nothing
        last = max(a["date"] for a in by_assessor)
        limit = min(a["level"] for a in by_assessor if a["date"] == last)
        known = [a for a in known if a["source"] != "manager" or a["level"] <= limit]
    of_day = [a for a in known if a["date"] == day]
    for wanted in SOURCES:
        levels = [a["level"] for a in of_day if a["source"] == wanted]
        if levels:
            return int(min(levels))
    # what was seen that day was left out: the level of before stands
    earlier = [a for a in known if a["date"] < day]
    if not earlier:
        return 0
    last = max(a["date"] for a in earlier)
    for wanted in SOURCES:
        levels = [a["level"] for a in earlier if a["date"] == last and a["source"] == wanted]
        if levels:
            return int(min(levels))
    return 0
