"""What the assessments of a development plan take: of every outcome, each competency once, at its highest level."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.development_plan import DevelopmentPlan, build_development_plan
from ontology.analysis.schedule.schedule import plan_schedule

MONDAY = date(2026, 11, 30)


def plan(hours: dict[str, float | None], courses: dict[str, str], conditions: str = "") -> DevelopmentPlan:
    """Return the plan of someone who takes courses that reach levels, written as "a1 b2"."""
    reached = [(course, part[:-1], int(part[-1])) for course, parts in courses.items() for part in parts.split()]
    entries = [part.split(":") for part in conditions.split()]
    targets: dict[str, int] = {}
    for _, competency, level in reached:
        targets[competency] = max(level, targets.get(competency, 0))
    rows: dict[str, list[dict[str, Any]]] = {
        "competencies": [
            {"id": i, "label": i, "scale": "s5"} | ({} if own is None else {"assessment_hours": own})
            for i, own in hours.items()
        ],
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [{"role": "r", "competency": i, "level": level} for i, level in targets.items()],
        "courses": [{"id": i, "label": i.upper(), "hours": 5.0} for i in courses],
        "outcomes": [{"course": course, "competency": i, "level": level} for course, i, level in reached],
        "entry_conditions": [{"course": c, "competency": p[:-1], "level": int(p[-1])} for c, p in entries],
        "teams": [{"id": "t", "label": "T"}],
        "people": [{"id": "p", "name": "P", "team": "t", "study_hours_per_week": 5.0}],
    }
    snapshot = build_snapshot(scales=build_scale(), **rows)
    profile = build_profile(snapshot, "p", MONDAY)
    path = find_learning_path(snapshot, profile, "r")
    return build_development_plan(snapshot, "p", plan_schedule(snapshot, profile, path, on=MONDAY), MONDAY)


def test_every_outcome_of_a_course_is_assessed() -> None:
    found = plan({"a": 2.0, "b": 1.5, "c": 0.5}, {"x": "a1 b1 c1"})
    assert [row.assessment_hours for row in found.steps[0].outcomes] == [2.0, 1.5, 0.5]
    assert found.assessment_hours == 4.0


def test_every_course_is_assessed() -> None:
    assert plan({"a": 2.0, "b": 1.5}, {"x": "a1", "y": "b1"}).assessment_hours == 3.5


def test_a_competency_that_two_courses_raise_is_assessed_once() -> None:
    found = plan({"a": 2.0}, {"x": "a1", "y": "a2"}, "y:a1")
    assert [[row.level for row in step.outcomes] for step in found.steps] == [[1], [2]]
    assert found.assessment_hours == 2.0


def test_an_assessment_without_hours_counts_as_none_of_them() -> None:
    found = plan({"a": None, "b": 1.5}, {"x": "a1 b1"})
    assert [row.assessment_hours for row in found.steps[0].outcomes] == [None, 1.5]
    assert found.assessment_hours == 1.5
