"""Rows of cover after a plan: who only renews becomes no holder, and of the shifts the worst is named."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.plan_effect import compute_cover_after


def test_a_course_that_renews_a_level_never_held_makes_nobody_a_holder() -> None:
    rows = build_team_rows(p={}, q={})
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "refresher_months": 12}
    needs = [{"team": "t", "competency": c, "level": 2, "minimum": 1, "target": 1} for c in "ab"]
    snapshot = build_team(
        rows,
        cover_needs=needs,
        courses=[{"id": "x", "label": "x", "hours": 3.0}],
        outcomes=[
            {"course": "x", "competency": "a", "level": 2, "renews": True},
            {"course": "x", "competency": "b", "level": 2},
        ],
    )
    plan = plan_cross_training(snapshot, "t", ON)
    assert [row.courses for row in plan.learners] == [("x",)]
    after = compute_cover_after(snapshot, compute_coverage(snapshot, "t", ON), plan)
    assert [(row.competency, row.qualified, row.state) for row in after.needs] == [
        ("a", (), "short"),
        ("b", ("p",), "sole-holder"),
    ]


def build_shifts(**holders: tuple[int, int]) -> Rows:
    """Return a team of shifts, each with holders of a at level 2 who are present, and others who are absent."""
    rows = build_team_rows()
    rows |= {"shifts": [], "absences": []}
    levels: dict[str, dict[str, int]] = {}
    shift_of = {}
    for shift, (present, absent) in holders.items():
        rows["shifts"].append({"id": shift, "team": "t", "label": shift})
        for n in range(present + absent):
            person = f"{shift}{n}"
            levels[person], shift_of[person] = {"a": 2}, shift
            if n >= present:
                rows["absences"].append({"person": person, "from_date": ON, "to_date": ON + timedelta(days=1)})
    people = build_team_rows(**levels)
    for person in people["people"]:
        person["shift"] = shift_of[person["id"]]
    return people | {name: rows[name] for name in ("shifts", "absences")}


@pytest.mark.parametrize(
    ("holders", "worst"),
    [
        ({"day": (2, 2), "late": (2, 0)}, ("late", "below-target")),  # as many present, but fewer there are at all
        ({"day": (3, 0), "late": (2, 2)}, ("late", "covered")),  # fewer present, though enough hold it
        ({"day": (2, 1), "late": (2, 1)}, ("day", "below-target")),
    ],
)
def test_the_worst_shift_has_the_fewest_present_then_the_worse_state_then_the_smaller_id(
    holders: dict[str, tuple[int, int]], worst: tuple[str, str]
) -> None:
    need: dict[str, Any] = {"competency": "a", "level": 2, "applies": "each-shift", "minimum": 1, "target": 4}
    snapshot = build_team(build_shifts(**holders), cover_needs=[{"team": "t"} | need])
    coverage = compute_coverage(snapshot, "t", ON)
    plan = replace(plan_cross_training(snapshot, "t", ON, hours_limit=0.0), plan=(), learners=())
    after = compute_cover_after(snapshot, coverage, plan)
    assert [(row.shift, row.state) for row in after.needs] == [worst]
    assert after.needs == coverage.needs
