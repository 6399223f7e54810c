"""A cross-training plan taken at its word: its courses are assessed on their days, and the other answers are asked.

Nobody learns before their first day, after their last or after the day asked for; coverage and staffing on the day of
"after the plan" find what the plan says; planning again finds nothing more to do.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds
from drawn_companies import apply_courses
from small_company import ON

SEEDS = list_seeds(8, 6)


def read_day(text: str) -> date:
    return date.fromisoformat(text)


def ask_plan(company: Company, team: str, **question: Any) -> dict[str, Any]:
    return company.ask(f"teams/{team}/cross-training", time_limit=5, **question)


def apply_plan(company: Company, plan: dict[str, Any]) -> Company:
    return Company(
        apply_courses(company.rows, [(r["person"], r["course"], read_day(r["finished_on"])) for r in plan["courses"]])
    )


def count_open(company: Company, team: str, on: date) -> tuple[int, int]:
    """Return how many people the needs lack of their targets, and how many slots staffing leaves empty."""
    lacking = sum(max(0, row["target"] - len(row["qualified"])) for row in company.get_needs(team, on).values())
    return lacking, sum(company.get_open_slots(team, on).values())


@pytest.mark.parametrize("seed", SEEDS)
def test_plan_leaves_missing_what_coverage_and_staffing_lack_once_it_is_done(seed: int) -> None:
    company = get_company(seed, is_dated=False)
    for team in "tu":
        before = count_open(company, team, ON)
        for holes, counted in (("all", (1, 1)), ("needs", (1, 0)), ("places", (0, 1))):
            plan = ask_plan(company, team, holes=holes)
            done = apply_plan(company, plan)
            after = count_open(done, team, read_day(plan["after_on"]))
            missing = sum(number * some for number, some in zip(after, counted, strict=True))
            assert plan["missing"] == missing, (team, holes, before, after)
            assert sum(row["missing"] for row in (*plan["unmet"], *plan["unmet_places"])) == missing
            again = ask_plan(done, team, on=read_day(plan["after_on"]), holes=holes)
            assert (again["missing"], again["study_hours"], again["plan"]) == (missing, 0, [])
        assert ask_plan(company, team) == ask_plan(company, team, holes="all")


@pytest.mark.parametrize("seed", SEEDS)
def test_nobody_learns_before_the_first_day_after_the_last_or_after_the_day_asked_for(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        missing = None
        for by in (None, ON + timedelta(days=35), ON + timedelta(days=12)):
            plan = ask_plan(company, team, by=by)
            for row in plan["courses"]:
                person = company.people[row["person"]]
                last = min(company.find_last_day(row["person"], ON), by or date.max)
                assert max(ON, person.get("start_date") or ON) <= read_day(row["begins_on"]), row
                assert read_day(row["begins_on"]) <= read_day(row["finished_on"]) <= last, row
            assert missing is None or plan["missing"] >= missing
            missing = plan["missing"]


@pytest.mark.parametrize("seed", SEEDS)
def test_every_day_of_a_plan_is_the_same_in_all_its_parts_and_in_the_chart(seed: int) -> None:
    company = get_company(seed)
    # a level that hangs on what a course brings may come later than the course
    is_hanging = any(row.get("holds_while") for row in company.rows["competencies"])
    for team in "tu":
        plan = ask_plan(company, team)
        days = {(row["person"], row["course"]): row["finished_on"] for row in plan["courses"]}
        taken = {(row["person"], course) for row in plan["learners"] for course in row["courses"]}
        assert days.keys() == taken
        for row in (*plan["learners"], *plan["plan"]):
            assert row["finished_on"] == max(days[row["person"], course] for course in row["courses"])
        last = max(days.values(), default=None)
        assert plan["finished_on"] == last
        assert plan["after_on"] == (last or str(ON))
        chart = company.ask(f"teams/{team}/training-timetable", time_limit=5, show="all")
        for name in ("missing", "study_hours", "finished_on", "after_on"):
            assert chart[name] == plan[name]
        for row in chart["rows"]:
            for cell in row["cells"]:
                if cell["state"] == "due" and not is_hanging:
                    assert cell["due"] in {day for (person, _), day in days.items() if person == cell["person"]}


@pytest.mark.parametrize("seed", SEEDS)
def test_course_takes_working_time_after_its_lead(seed: int) -> None:
    company = get_company(seed)
    courses = {row["id"]: row for row in company.rows["courses"]}
    for team in "tu":
        for row in ask_plan(company, team)["courses"]:
            weeks = get_weeks(courses[row["course"]])
            length = read_day(row["finished_on"]) - read_day(row["begins_on"])
            assert ceil(7 * weeks) - 1 <= length.days <= ceil(7 * weeks) + 1, row


def get_weeks(course: dict[str, Any]) -> Fraction:
    """Return the longer of a course's own weeks and its hours at 40 a week."""
    return max(Fraction(str(course["weeks"] or 0)), Fraction(str(course["hours"])) / 40)
