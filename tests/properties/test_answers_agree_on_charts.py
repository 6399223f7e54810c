"""After the plan: what plan and training chart say of it, against coverage and staffing of that day.

The courses of the plan are assessed on their days, and coverage and staffing are asked on the day that is named.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
from agreeing_companies import Company, Key, get_company, list_seeds
from drawn_companies import apply_courses
from small_company import ON

SEEDS = list_seeds(8, 6)


def get_key(row: dict[str, Any]) -> Key:
    return row["competency"], row["level"], row["applies"], row["shift"]


@cache
def get_planned(seed: int, team: str, away: str = "") -> tuple[dict[str, Any], Company]:
    """Return a team's plan, and the company with its courses assessed on the days on which they are done."""
    company = get_company(seed)
    plan = company.ask(f"teams/{team}/cross-training", time_limit=5, away=away)
    done = [(row["person"], row["course"], date.fromisoformat(row["finished_on"])) for row in plan["courses"]]
    return plan, Company(apply_courses(company.rows, done))


@pytest.mark.parametrize("seed", SEEDS)
def test_after_the_plan_is_what_coverage_and_staffing_find_on_its_day(seed: int) -> None:
    for team in "tu":
        for away in ("", f"{team}p1"):
            plan, done = get_planned(seed, team, away)
            after, on = plan["after"], plan["after_on"]
            coverage = done.ask(f"teams/{team}/coverage", on, away=away)
            assert after["on"] == on == (plan["finished_on"] or plan["on"])
            assert after["needs"] == coverage["needs"]
            assert after["absent"] == coverage["absent"]
            staffing = done.ask(f"teams/{team}/staffing", on, away=away)
            for name in ("places", "filled", "together_slots", "together_filled", "unfilled", "unfilled_needs"):
                assert after[name] == staffing[name], (team, away, name)


@pytest.mark.parametrize("seed", SEEDS)
def test_chart_counts_after_the_plan_whom_coverage_finds_on_its_day(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        plan, done = get_planned(seed, team)
        chart = company.ask(f"teams/{team}/training-timetable", time_limit=5)
        needs = done.get_needs(team, plan["after_on"])
        assert (chart["after"], chart["after_on"]) == (plan["after"], plan["after_on"])
        for row in chart["rows"]:
            qualified = needs[get_key(row)]["qualified"]
            assert row["holders_planned"] == len(qualified)
            held = sorted(cell["person"] for cell in row["cells"] if cell["is_held_after"])
            assert held == qualified, row
            for cell in row["cells"]:
                assert cell["state"] not in ("due", "later") or cell["due"] is not None, cell
                if cell["state"] == "due":
                    check_due(company, cell, [r for r in plan["courses"] if r["person"] == cell["person"]])


def check_due(company: Company, cell: dict[str, Any], courses: list[dict[str, Any]]) -> None:
    """A level is due on the day one of the courses is done; one that hangs on what they teach may come later."""
    days = {row["finished_on"] for row in courses}
    if any(row.get("holds_while") for row in company.rows["competencies"]):
        assert min(days) <= cell["due"], cell
    else:
        assert cell["due"] in days, cell


@pytest.mark.parametrize("seed", SEEDS)
def test_what_lapses_until_then_is_told(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        plan, done = get_planned(seed, team)
        now, after = company.get_needs(team), done.get_needs(team, plan["after_on"])
        shifts, later = (company.find_members(team, day) for day in (ON, date.fromisoformat(plan["after_on"])))
        moved = {person for person, there in later.items() if person in shifts and there.shift != shifts[person].shift}
        told = {(row["person"], row["competency"], row["level"]) for row in plan["after"]["lapses"]}
        leaving = set(plan["after"]["leaving"])
        for key, row in now.items():
            for person in set(row["qualified"]) - set(after[key]["qualified"]) - leaving - moved:
                assert (person, key[0], key[1]) in told, (person, key)
        members = {p for row in after.values() for p in row["qualified"]}
        assert not members & leaving


@pytest.mark.parametrize("seed", SEEDS)
def test_chart_says_who_holds_a_need_and_until_when_as_coverage_does(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        chart = company.ask(f"teams/{team}/training-timetable", time_limit=5)
        needs = company.get_needs(team)
        rows = [row for row in chart["rows"] if row["kind"] == "need"]
        assert {get_key(row) for row in rows} == needs.keys()
        for row in rows:
            need = needs[get_key(row)]
            holds = {cell["person"] for cell in row["cells"] if cell["state"] == "holds"}
            assert holds == set(need["qualified"])
            assert row["holders"] == len(holds)
            for cell in row["cells"]:
                if cell["state"] == "holds" and cell["until"] is not None:
                    check_until(get_planned(seed, team)[1], team, row, cell)


def check_until(company: Company, team: str, row: dict[str, Any], cell: dict[str, Any]) -> None:
    """The level of the need is held on the last day and gone on the next, as far as the person is there then."""
    last = date.fromisoformat(cell["until"])
    key = get_key(row)
    there = [company.find_members(team, day).get(cell["person"]) for day in (last, last + timedelta(days=1))]
    if any(one is None or key[3] not in (None, one.shift) for one in there):
        return
    assert cell["person"] in company.get_needs(team, last)[key]["qualified"], (key, cell)
    assert cell["person"] not in company.get_needs(team, last + timedelta(days=1))[key]["qualified"], (key, cell)
