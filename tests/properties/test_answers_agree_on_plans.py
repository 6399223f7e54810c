"""What a learner's own plan promises for its last day, against asking the gap of that day.

The courses of schedule and development plan are taken at their word: each is assessed on its last day, and the gap is
asked for on the day on which the plan ends. Nobody learns before the first day or after the last in any of them.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds
from brute_meanings import find_levels
from drawn_companies import apply_courses
from small_company import ON

SEEDS = list_seeds(12, 8)
ROLES = ("r0", "r1", "r2")


def read_day(text: str) -> date:
    return date.fromisoformat(text)


def list_questions(company: Company) -> list[tuple[str, str]]:
    """Return people and roles to ask for: members that day, or people who start later."""
    people = [p for p, row in sorted(company.people.items()) if (row.get("end_date") or ON) >= ON]
    return [(person, ROLES[n % 3]) for n, person in enumerate(people)]


def ask_gap_after(company: Company, person: str, role: str, courses: list[dict[str, Any]], end: date) -> dict[str, Any]:
    done = [(person, row["id"], read_day(row["last_day"])) for row in courses]
    return Company(apply_courses(company.rows, done)).ask(f"people/{person}/gap", end, role=role)


@pytest.mark.parametrize("seed", SEEDS)
def test_schedule_promises_what_the_gap_finds_on_its_last_day(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_questions(company)[:4]:
        answer = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        end = read_day(answer["finish"]) if answer["finish"] else ON
        gap = ask_gap_after(company, person, role, answer["courses"], end)
        about = person, role, answer["courses"]
        assert answer["readiness_after"] == pytest.approx(gap["readiness"]), about
        assert answer["standing_after"] == gap["standing"], about
        is_reached = all(row["gap"] == 0 for row in gap["gaps"] if row["necessity"] != "desirable")
        assert answer["is_target_reached"] == is_reached, about
        before = company.ask(f"people/{person}/gap", role=role)
        assert answer["readiness_before"] == pytest.approx(before["readiness"]), about


@pytest.mark.parametrize("seed", SEEDS)
def test_path_promises_what_the_gap_finds_on_its_last_day(seed: int) -> None:
    """A path has no dates of its own: what its courses bring counts on the last day."""
    company = get_company(seed)
    wishes: list[dict[str, Any]] = [{}, {"max_hours": 6}, {"exclude": "k0,k1"}, {"desirable": "yes"}]
    for n, (person, role) in enumerate(list_questions(company)[:5]):
        path = company.ask(f"people/{person}/learning-path", role=role, time_limit=5, alternatives=0, **wishes[n % 4])
        end = read_day(path["last_day"])
        rows = apply_courses(company.rows, [(person, course, end) for course in path["order"]], usable_on=ON)
        gap = Company(rows).ask(f"people/{person}/gap", end, role=role)
        held = {i: ways[0].level or 0 for i, ways in find_levels(rows, person, end).items()}
        about = person, role, path["order"], end
        assert path["readiness_after"] == pytest.approx(gap["readiness"]), about
        assert path["standing_after"] == gap["standing"], about
        have = {row["competency"]: row["have"] or 0 for row in gap["gaps"]}
        assert {row["competency"]: row["reached"] for row in path["requirements"]} == have, about
        assert path["is_target_reached"] == all(held[i] >= level for i, level in path["targets"].items()), about


@pytest.mark.parametrize("seed", SEEDS)
def test_wishes_change_nothing_about_what_a_schedule_promises(seed: int) -> None:
    company = get_company(seed)
    wishes: list[dict[str, Any]] = [
        {"max_hours": 10},
        {"already_booked": "k2"},
        {"start": ON + timedelta(days=20), "at_once": 1},
        {"study_hours_per_week": 1.5},
    ]
    for n, (person, role) in enumerate(list_questions(company)[:4]):
        answer = company.ask(f"people/{person}/schedule", role=role, time_limit=5, **wishes[n])
        end = read_day(answer["finish"]) if answer["finish"] else ON
        gap = ask_gap_after(company, person, role, answer["courses"], end)
        assert answer["readiness_after"] == pytest.approx(gap["readiness"]), (
            person,
            role,
            wishes[n],
            answer["courses"],
        )
        assert answer["standing_after"] == gap["standing"]


@pytest.mark.parametrize("seed", SEEDS)
def test_development_plan_promises_what_schedule_and_gap_say(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_questions(company)[:3]:
        plan = company.ask(f"people/{person}/development-plan", role=role, time_limit=5)
        schedule = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        inside = plan["schedule"]
        assert {name: schedule[name] for name in inside} == inside
        assert plan["now"] == {name: company.ask(f"people/{person}/gap", role=role)[name] for name in plan["now"]}
        assert [row["course"] for row in plan["steps"]] == [row["id"] for row in schedule["courses"]]
        for step, row in zip(plan["steps"], schedule["courses"], strict=True):
            assert (step["first_day"], step["last_day"]) == (row["first_day"], row["last_day"])


@pytest.mark.parametrize("seed", SEEDS)
def test_calendar_file_has_the_days_of_the_development_plan(seed: int) -> None:
    company = get_company(seed)
    person, role = list_questions(company)[0]
    plan = company.ask(f"people/{person}/development-plan", role=role, time_limit=5)
    text = company.read(f"api/people/{person}/development-plan", role=role, format="ics", time_limit=5)
    lines = [line.partition(":")[2] for line in text.splitlines() if line.startswith(("DTSTART", "DTEND"))]
    spans = set(pairwise(lines))
    for step in plan["steps"]:
        # the end of an event of whole days is the day after its last (RFC 5545, 3.6.1)
        end = read_day(step["last_day"]) + timedelta(days=1)
        assert (step["first_day"].replace("-", ""), f"{end:%Y%m%d}") in spans
        for talk in step["follow_ups"]:
            assert talk["day"].replace("-", "") in lines


@pytest.mark.parametrize("seed", SEEDS)
def test_path_and_schedule_take_the_same_courses_and_call_the_same_levels_renewed(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_questions(company)[:4]:
        path = company.ask(f"people/{person}/learning-path", role=role, time_limit=5, alternatives=0)
        schedule = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        planned = {row["id"] for row in schedule["courses"] if not row["is_renewal"]}
        left_out = {row["id"] for row in schedule["left_out"]}
        assert planned <= set(path["order"]) <= {row["id"] for row in schedule["courses"]} | left_out
        assert path["unreachable"] == schedule["unreachable"]
        renewed_by = {(r["competency"], r["level"], r["valid_until"]): r["renewed_by"] for r in path["lapses"]}
        for row in schedule["lapsing"]:
            key = row["competency"], row["level"], row["valid_until"]
            if key in renewed_by:
                anew = [course for course in path["order"] if f"course {course} of this plan" in row["reason"]]
                planned_ones = [row["renewal"]] if row["renewal"] else anew
                assert set(planned_ones) <= set(renewed_by[key]), (person, role, row, renewed_by)
                assert bool(planned_ones) == bool(renewed_by[key])


@pytest.mark.parametrize("seed", SEEDS)
def test_no_schedule_ends_before_the_last_day_of_its_path_weekends_apart(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_questions(company):
        path = company.ask(f"people/{person}/learning-path", role=role, time_limit=5, alternatives=0)
        schedule = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        end = read_day(path["last_day"])
        if not schedule["left_out"] and schedule["finish"]:
            assert end <= read_day(schedule["finish"]) + timedelta(days=3), (person, role)
        leaves = company.people[person].get("end_date")
        # whoever has ended by a day has learned up to the day before
        if path["order"] and leaves is not None and leaves < end - timedelta(days=1):
            assert schedule["left_out"], (person, role)
            assert any(str(leaves) in remark for remark in path["remarks"])


@pytest.mark.parametrize("seed", SEEDS)
def test_nobody_learns_before_the_first_day_or_after_the_last(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_questions(company):
        row = company.people[person]
        if not (row.get("start_date") or row.get("end_date")):
            continue
        answer = company.ask(f"people/{person}/schedule", role=role, time_limit=5)
        for course in answer["courses"]:
            assert read_day(course["first_day"]) >= (row.get("start_date") or ON), (person, course)
            assert read_day(course["last_day"]) <= (row.get("end_date") or date.max), (person, course)
