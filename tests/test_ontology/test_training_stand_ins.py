"""A first plan may hold a course that the problem has dropped since, for another can stand in for it: it is no end.

Both were found by drawing tens of thousands of small teams and trying every plan.
"""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import assess, build_course_rows, build_team, build_team_rows

from ontology.analysis.engine.landmark_bound import get_below
from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training


def get_pairs(result: CrossTrainingResult) -> list[tuple[str, str]]:
    return sorted((row.person, course) for row in result.learners for course in row.courses)


def build_two_places() -> dict[str, Any]:
    """Return a team of one who is there, and two places for them: for a or for b."""
    rows = build_team_rows(p0={}, p1={})
    rows["absences"] = [{"person": "p0", "from_date": ON, "to_date": ON}]
    rows["roles"] = [{"id": "r1", "label": "One"}, {"id": "r2", "label": "Two"}]
    rows["requirements"] = [
        {"role": "r1", "competency": "a", "level": 1},
        {"role": "r2", "competency": "b", "level": 1},
    ]
    rows["places"] = [
        {"id": "x0", "team": "t", "role": "r1", "shift": "", "count": 1},
        {"id": "x1", "team": "t", "role": "r2", "shift": "", "count": 1},
    ]
    return rows


def test_a_plan_that_costs_less_is_found_though_no_step_of_cost_leads_there() -> None:
    """The dear one costs half of what the steps of the others are: the least below it is not it less a step."""
    courses = build_course_rows(
        c0={"hours": 1.0, "cost": 1.0, "gives": {"a": 1}},
        c1={"hours": 1.0, "cost": 0.0, "gives": {"a": 1}},
        c2={"hours": 0.0, "coach_hours": 1.0, "cost": 2.0, "gives": {"b": 1}},
    )
    result = plan_cross_training(build_team(build_two_places(), **courses), "t", ON, holes="places")
    assert (result.missing, result.total_hours, result.cost) == (1, 1.0, 0.0)
    assert get_pairs(result) == [("p1", "c1")]


def test_of_two_that_can_stand_in_for_each_other_the_smaller_id_is_planned() -> None:
    rows = build_team_rows(p0={}, p1={"a": 1})
    rows["absences"] = [{"person": one, "from_date": ON, "to_date": ON} for one in ("p0", "p1")]
    rows["cover_needs"] = [
        {"team": "t", "competency": "a", "level": 1, "applies": "team", "minimum": 1, "target": 2, "together": ""}
    ]
    courses = build_course_rows(
        c0={"hours": 0.0, "gives": {"b": 1, "c": 1}},
        c1={"hours": 3.0, "gives": {"a": 1}, "asks": {"c": 1}},
        c2={"hours": 3.0, "gives": {"a": 1}, "asks": {"b": 1}},
    )
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs")
    assert (result.status, result.total_hours) == ("optimal", 3.0)
    assert get_pairs(result) == [("p0", "c0"), ("p0", "c1")]
    assert assess("p1", "a", 1) in rows["assessments"]


@pytest.mark.parametrize("step", [1, 2, 5, 60, 200])
def test_the_greatest_cost_below_is_a_multiple_and_below(step: int) -> None:
    for value in range(1, 500):
        below = get_below(value, step)
        assert below == max(n for n in range(-step, value) if n % step == 0)
