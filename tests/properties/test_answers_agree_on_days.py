"""The timeline of a team against coverage and staffing of every one of its days, and its mends against working time."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds
from drawn_companies import apply_courses
from small_company import ON

SEEDS = list_seeds(6, 4)
WEEKS = 9
DAYS = [ON + timedelta(days=n) for n in range(7 * WEEKS + 1)]


def read_day(text: str) -> date:
    return date.fromisoformat(text)


def list_days(row: dict[str, Any]) -> set[date]:
    """Return the days of an interval or hole as far as the timeline tells of them."""
    return {day for day in DAYS if row["from_date"] <= str(day) <= row["to_date"]}


def get_key(row: dict[str, Any]) -> Any:
    """Return what a row is about: the id of a place, or a need where it counts."""
    return row.get("place") or (row["competency"], row["level"], row["applies"], row["shift"])


def ask_timeline(company: Company, team: str, **question: Any) -> dict[str, Any]:
    return company.ask(f"teams/{team}/coverage-timeline", weeks=WEEKS, time_limit=5, **question)


@pytest.mark.parametrize("seed", SEEDS)
def test_timeline_says_of_every_day_what_coverage_and_staffing_say_of_it(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        for away in ("", f"{team}p0"):
            answer = ask_timeline(company, team, away=away)
            told: dict[date, dict[Any, Any]] = defaultdict(dict)
            for kind in ("needs", "slots"):
                for row in answer[kind]:
                    for interval in row["intervals"]:
                        for day in list_days(interval):
                            told[day][kind, get_key(row)] = (row, interval)
            for day in DAYS:
                needs, empty = company.get_needs(team, day, away), company.get_open_slots(team, day, away)
                assert {key for kind, key in told[day] if kind == "needs"} == needs.keys()
                for key, scope in needs.items():
                    interval = told[day]["needs", key][1]
                    assert all(interval[n] == scope[n] for n in ("depth", "state", "qualified", "present")), (day, key)
                found = {k: r["slots"] - i["filled"] for (kind, k), (r, i) in told[day].items() if kind == "slots"}
                assert Counter(found) == empty, day
                states = {k: i["state"] for (kind, k), (_, i) in told[day].items() if kind == "slots"}
                assert all((state == "unfilled") == (empty[key] > 0) for key, state in states.items()), day


@pytest.mark.parametrize("seed", SEEDS)
def test_holes_are_the_days_on_which_so_many_are_missing(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        answer = ask_timeline(company, team)
        for day in DAYS:
            lacking = {key: max(0, r["minimum"] - r["depth"]) for key, r in company.get_needs(team, day).items()}
            for kind, missing in (("needs", lacking), ("slots", company.get_open_slots(team, day))):
                for row in answer[kind]:
                    holes = [hole["lacking"] for hole in row["holes"] if day in list_days(hole)]
                    assert sorted(holes) == list(range(1, missing[get_key(row)] + 1)), (day, get_key(row))


@pytest.mark.parametrize("seed", SEEDS)
def test_hole_that_has_begun_tells_since_when(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        answer = ask_timeline(company, team)
        for kind in ("needs", "slots"):
            for row in answer[kind]:
                for hole in row["holes"]:
                    first = read_day(hole["from_date"])
                    if hole["is_begin_known"] and first > ON - timedelta(days=500):
                        before = count_missing(company, team, kind, get_key(row), first - timedelta(days=1))
                        assert before < hole["lacking"] <= count_missing(company, team, kind, get_key(row), first)


def count_missing(company: Company, team: str, kind: str, key: Any, day: date) -> int:
    if kind == "slots":
        return company.get_open_slots(team, day)[key]
    row = company.get_needs(team, day)[key]
    return max(0, int(row["minimum"] - row["depth"]))


@pytest.mark.parametrize("seed", SEEDS)
def test_changes_are_the_days_on_which_a_state_is_another(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        answer = ask_timeline(company, team)
        told = {(row["on"], get_key(row), row["kind"]) for row in answer["changes"] if row["kind"] != "together"}
        told |= {(row["on"], get_key(row), "together") for row in answer["changes"] if row["kind"] == "together"}
        states = {day: get_states(company, team, day) for day in DAYS}
        found = {
            (str(day), key, kind)
            for before, day in pairwise(DAYS)
            for (kind, key), state in states[day].items()
            if states[before][kind, key] != state
        }
        assert found == told


def get_states(company: Company, team: str, day: date) -> dict[tuple[str, Any], Any]:
    """Return the state of every need, and the empty slots of every place and group."""
    states = {("need", key): row["state"] for key, row in company.get_needs(team, day).items()}
    empty = company.get_open_slots(team, day)
    for place in company.rows["places"]:
        if place["team"] == team:
            states["place", place["id"]] = empty[place["id"]]
    together = {(r["competency"], r["level"], r["applies"]) for r in company.rows["cover_needs"] if r["together"]}
    for _, key in list(states):
        if isinstance(key, tuple) and key[:3] in together:
            states["together", key] = empty[key]
    return states


@pytest.mark.parametrize("seed", SEEDS)
def test_mend_is_done_in_working_time_by_someone_there_and_closes_its_hole(seed: int) -> None:
    company = get_company(seed)
    courses = {row["id"]: row for row in company.rows["courses"]}
    for team in "tu":
        answer = ask_timeline(company, team)
        rows = [(kind, row) for kind in ("needs", "slots") for row in answer[kind]]
        for kind, row in rows:
            for hole in row["holes"]:
                mend = hole["mend"]
                if mend is None:
                    continue
                end = Fraction(0)
                for course in mend["courses"]:
                    weeks = max(
                        Fraction(str(courses[course]["weeks"] or 0)), Fraction(str(courses[course]["hours"])) / 40
                    )
                    end = max(end, Fraction(str(courses[course]["lead_weeks"]))) + weeks
                length = timedelta(days=ceil(7 * end))
                person = company.people[mend["person"]]
                ready = read_day(mend["ready_on"])
                assert ready == max(ON, person.get("start_date") or ON) + length, mend
                assert read_day(mend["last_day_to_act"]) == read_day(mend["due"]) - length, mend
                assert ready <= company.find_last_day(mend["person"], max(ON, read_day(hole["from_date"]))), mend
                if not hole["is_late"]:
                    check_closed(company, team, kind, get_key(row), mend, read_day(hole["from_date"]))


def check_closed(company: Company, team: str, kind: str, key: Any, mend: dict[str, Any], day: date) -> None:
    """With the mend begun on its last day, one fewer is missing on the first day of the hole.

    Of slots, in all of them together: whoever learns for one may be able for another that staffing fills first.
    """
    due = read_day(mend["due"])
    done = Company(apply_courses(company.rows, [(mend["person"], course, due) for course in mend["courses"]]))
    if kind == "slots":
        before, after = (sum(some.get_open_slots(team, day).values()) for some in (company, done))
    else:
        before, after = (count_missing(some, team, kind, key, day) for some in (company, done))
    assert after < before, (key, mend, day)
