"""An agreed plan asked on many days, against going through the rows; and against path, schedule and gap of that day."""

from __future__ import annotations

import copy
import random
from collections import Counter
from dataclasses import asdict
from datetime import date, timedelta

import pytest
from agreeing_companies import Company
from booked_companies import draw_booked_rows, get_booked_company
from brute_agreed import judge_course
from drawn_companies import Rows
from small_company import ON

from ontology.analysis.agreed.agreement import build_agreement
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.errors import ConflictError

SEEDS = range(12)
ROLES = ("r0", "r1", "r2")
DAYS = [ON + timedelta(days) for days in (-20, -3, 0, 1, 8, 30, 75)]


def draw_agreed_rows(seed: int) -> Rows:
    """Return a company with seats in which plans were agreed, and assessments came of some of their courses."""
    rng = random.Random(f"agreed {seed}")
    rows = copy.deepcopy(draw_booked_rows(seed))
    courses = [row["id"] for row in rows["courses"]]
    for n, person in enumerate(rows["people"][:5]):
        agreed_on = ON + timedelta(rng.choice([-60, -25, -3, 0]))
        ended_on = rng.choice([None, None, None, ON + timedelta(9)])
        plan = {"id": f"plan{n}", "person": person["id"], "role": rng.choice(ROLES), "agreed_on": agreed_on}
        rows["agreed_plans"].append(plan | {"ended_on": ended_on})
        for course in rng.sample(courses, rng.choice([1, 2, 3])):
            first = agreed_on + timedelta(rng.choice([0, 5, 20, 40]))
            row = {"plan": plan["id"], "course": course, "first_day": first}
            rows["agreed_courses"].append(row | {"last_day": first + timedelta(rng.choice([0, 4, 25]))})
            for outcome in [row for row in rows["outcomes"] if row["course"] == course]:
                if rng.random() < 0.6:
                    rows["assessments"].append(
                        {
                            "person": person["id"],
                            "competency": outcome["competency"],
                            "level": max(1, outcome["level"] - rng.choice([0, 0, 0, 1])),
                            "date": first + timedelta(rng.choice([-1, 0, 3, 30])),
                            "source": rng.choice(["certificate", "assessor", "manager", "self"]),
                        }
                    )
    keys = set()
    kept = []
    for row in rows["assessments"]:
        key = (row["person"], row["competency"], row["date"], row.get("source"), row["level"])
        kept += [] if key in keys else [row]
        keys.add(key)
    rows["assessments"] = kept
    return rows


@pytest.mark.parametrize("seed", SEEDS)
def test_every_course_stands_as_the_rows_say(seed: int) -> None:
    rows = draw_agreed_rows(seed)
    company = Company(rows)
    for on in DAYS:
        for person in sorted({plan["person"] for plan in rows["agreed_plans"]}):
            answer = company.ask(f"people/{person}/agreed-plan", on, time_limit=5)
            in_force = [
                plan
                for plan in rows["agreed_plans"]
                if plan["person"] == person
                and plan["agreed_on"] <= on
                and (plan["ended_on"] is None or on < plan["ended_on"])
            ]
            assert [plan["id"] for plan in answer["plans"]] == [plan["id"] for plan in in_force]
            assert bool(answer["remarks"]) == (not in_force)
            for told, plan in zip(answer["plans"], in_force, strict=True):
                agreed = {row["course"]: row for row in rows["agreed_courses"] if row["plan"] == plan["id"]}
                expected = {course: judge_course(rows, plan, row, on) for course, row in agreed.items()}
                assert {row["course"]: (row["state"], row["days_late"]) for row in told["courses"]} == expected
                states = Counter(state.replace("-", "_") for state, _ in expected.values())
                assert {state: number for state, number in told["counts"].items() if number} == states
                assert told["days_late"] == max(days for _, days in expected.values())


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_way_is_the_path_and_the_calendar_of_the_day_and_levels_are_those_of_the_gap(seed: int) -> None:
    rows = draw_agreed_rows(seed)
    company = Company(rows)
    hours = {row["id"]: row["hours"] for row in rows["courses"]}
    for on in DAYS[2:5]:
        for plan in rows["agreed_plans"]:
            person, role = plan["person"], plan["role"]
            answer = company.ask(f"people/{person}/agreed-plan", on, time_limit=5)
            for told in answer["plans"]:
                path = company.ask(f"people/{person}/learning-path", on, role=role, time_limit=5, alternatives=0)
                schedule = company.ask(f"people/{person}/schedule", on, role=role, time_limit=5)
                best = told["best"]
                assert best["status"] == schedule["status"]
                assert best["finish"] == schedule["finish"]
                assert best["courses"] == [row["id"] for row in schedule["courses"]]
                assert best["study_hours"] == pytest.approx(schedule["study_hours"])
                assert best["booked_hours"] == pytest.approx(schedule["booked_hours"])
                left = [row["course"] for row in told["courses"] if row["state"] != "done"]
                assert told["open_hours"] == pytest.approx(sum(hours[course] for course in left))
                sums = best["study_hours"] + best["booked_hours"] - told["open_hours"]
                assert told["hours_difference"] == pytest.approx(sums)
                assert {row["competency"]: row["level"] for row in told["levels"]} == path["targets"]
                gap = company.ask(f"people/{person}/gap", on, role=role)
                have = {row["competency"]: row["have"] or 0 for row in gap["gaps"]}
                for row in told["levels"]:
                    assert row["have"] == have.get(row["competency"], row["have"])
                    assert row["is_reached"] == (row["have"] >= row["level"])
                end, last_day = told["expected_end"], date.fromisoformat(told["last_day"])
                if end:
                    assert date.fromisoformat(end) >= on
                    assert told["days_behind"] == max(0, (date.fromisoformat(end) - last_day).days)
                if last_day == on and told["is_on_time"] is not None:
                    held = all(row["is_reached"] for row in told["levels"])
                    assert told["is_on_time"] or not held


@pytest.mark.parametrize("seed", range(1, 13))
def test_right_after_it_is_agreed_nothing_is_late_and_nothing_differs(seed: int) -> None:
    company = get_booked_company(seed)
    snapshot = company.get_snapshot()
    people = [p for p, row in sorted(company.people.items()) if (row.get("end_date") or ON) >= ON]
    agreed = 0
    for n, person in enumerate(people):
        role = ROLES[n % 3]
        path = find_person_path(snapshot, person, role, ON)
        schedule = plan_schedule(snapshot, build_profile(snapshot, person, ON), path, on=ON)
        if not schedule.courses:
            continue
        agreed += 1
        plan, courses = build_agreement(snapshot, person, schedule, ON)
        rows = company.rows | {"agreed_plans": [asdict(plan)], "agreed_courses": [asdict(row) for row in courses]}
        after = Company(rows)
        (told,) = after.ask(f"people/{person}/agreed-plan", time_limit=5)["plans"]
        about = person, role, told
        assert told["counts"]["late"] == told["days_late"] == told["days_behind"] == 0, about
        assert told["hours_difference"] == 0, about
        assert told["best"]["added"] == told["best"]["dropped"] == [], about
        assert told["is_target_reached"] == told["is_on_time"] == schedule.is_target_reached, about
        assert told["expected_end"] == str(schedule.finish) == told["last_day"], about
        with pytest.raises(ConflictError):
            build_agreement(after.get_snapshot(), person, schedule, ON)
    assert agreed
