"""Why a cross-training plan leaves people missing, where time or a course left out is the reason."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training


def plan(rows: Rows, courses: Rows, **more: Any) -> CrossTrainingResult:
    """Return the plan for one person at level 2 of a."""
    need = {"team": "t", "competency": "a", "level": 2, "target": 1}
    return plan_cross_training(build_team(rows, cover_needs=[need], **courses), "t", ON, **more)


@pytest.mark.parametrize(
    ("rules", "reason"),
    [
        ({"by": ON + timedelta(days=20)}, "For p: no course to it is done by 2026-12-14."),
        ({"exclude_courses": frozenset({"b1"})}, "For p: only by courses that are left out, as asked (b1)."),
    ],
)
def test_a_level_out_of_reach_for_want_of_time_or_of_a_course_left_out_has_its_reason(
    rules: dict[str, Any], reason: str
) -> None:
    """The way there leads through a level that only what is left out, or what is too long, would reach."""
    courses = build_course_rows(
        a2={"hours": 3.0, "gives": {"a": 2}, "asks": {"b": 1}}, b1={"hours": 3.0, "weeks": 9.0, "gives": {"b": 1}}
    )
    (row,) = plan(build_team_rows(p={}), courses, asked=TrainingAsked(**rules)).unmet
    assert row.reason == reason


def test_a_level_out_of_reach_for_want_of_time_says_why_though_the_courses_wait_for_another_that_nothing_teaches() -> (
    None
):
    courses = build_course_rows(
        a2={"hours": 3.0, "gives": {"a": 2}, "asks": {"b": 1}},
        b1={"hours": 3.0, "weeks": 9.0, "gives": {"b": 1}, "asks": {"c": 1}},
    )
    rules = TrainingAsked(by=ON + timedelta(days=20))
    (row,) = plan(build_team_rows(p={}), courses, asked=rules).unmet
    assert "which no course teaches" in row.reason


def test_whoever_leaves_learns_nothing_that_ends_later_and_the_reason_is_their_last_day() -> None:
    rows = build_team_rows(p={})
    rows["people"][0]["end_date"] = ON + timedelta(days=30)
    courses = build_course_rows(a2={"hours": 3.0, "weeks": 9.0, "gives": {"a": 2}})
    (row,) = plan(rows, courses).unmet
    assert row.reason == "For p: no course to it is done by 2026-12-24, their last day."
