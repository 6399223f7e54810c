"""Development plans: what is practised, how it is confirmed, when it is followed up, how it is shared out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.development_plan import DevelopmentPlan, build_development_plan
from ontology.analysis.schedule.practice import describe_practice, get_assessment_way
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.model.records import Competency, ScaleLevel
from ontology.snapshot.snapshot import Snapshot

MONDAY = date(2026, 11, 30)
LEVEL = ScaleLevel("s5", 2, "Second", "Does it with help near by.")


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    scales = build_scale()
    scales[1]["description"] = LEVEL.description
    return build_snapshot(
        scales=[*scales, {"scale": "held", "rank": 1, "label": "Held"}],
        competencies=[
            {"id": "skill", "label": "Skill", "scale": "s5", "assessment_hours": 2.0},
            {"id": "held-already", "label": "Held already", "scale": "s5"},
            {"id": "by-the-way", "label": "By the way", "scale": "s5", "kind": "knowledge"},
            {"id": "risky", "label": "Risky", "scale": "s5", "safety": True, "practices_per_year": 4.0},
            {"id": "licence", "label": "Licence", "scale": "held", "kind": "certificate", "assessment_hours": 1.5},
        ],
        roles=[{"id": "r", "label": "Role R"}],
        requirements=[
            {"role": "r", "competency": "skill", "level": 2},
            {"role": "r", "competency": "risky", "level": 2},
            {"role": "r", "competency": "licence", "level": 1, "necessity": "blocking"},
        ],
        courses=[
            {"id": "a", "label": "A", "hours": 7.0, "strand": "experience", "coach_hours": 3.0, "cost": 10.0},
            {"id": "b", "label": "B", "hours": 2.0, "strand": "social", "cost": 20.0},
            {"id": "c", "label": "C", "hours": 1.0},
        ],
        outcomes=[
            {"course": "a", "competency": "skill", "level": 2},
            {"course": "a", "competency": "by-the-way", "level": 1},
            {"course": "a", "competency": "held-already", "level": 1},
            {"course": "b", "competency": "risky", "level": 2},
            {"course": "c", "competency": "licence", "level": 1},
        ],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "team": "t", "study_hours_per_week": 5.0}],
        assessments=[
            {"person": "p", "competency": "held-already", "level": 3, "date": date(2026, 1, 5), "source": "manager"}
        ],
    )


@pytest.fixture(scope="module")
def plan(snapshot: Snapshot) -> DevelopmentPlan:
    profile = build_profile(snapshot, "p", MONDAY)
    path = find_learning_path(snapshot, profile, "r")
    return build_development_plan(snapshot, "p", plan_schedule(snapshot, profile, path, on=MONDAY), MONDAY)


def test_a_plan_says_where_someone_stands_and_what_leads_on(plan: DevelopmentPlan) -> None:
    assert (plan.role, plan.role_label) == ("r", "Role R")
    assert (plan.now.standing, plan.now.blocking_unmet) == ("none", 1)
    assert {step.course for step in plan.steps} == {"a", "b", "c"}
    assert [step.course for step in plan.steps] == [course.id for course in plan.schedule.courses]
    assert plan.coach_hours == 3


def test_hours_are_shared_out_by_kind_of_learning_beside_the_rule_of_thumb(plan: DevelopmentPlan) -> None:
    shares = {row.strand: (row.study_hours, row.share, row.rule_of_thumb) for row in plan.strands}
    assert shares == {
        "experience": (7, 0.7, 0.7),
        "social": (2, 0.2, 0.2),
        "formal": (0, 0, 0.1),
        "unstated": (1, 0.1, None),
    }
    assert any("C" in remark for remark in plan.remarks)


def test_outcomes_are_those_that_are_not_held_yet_targets_first(plan: DevelopmentPlan) -> None:
    step = next(step for step in plan.steps if step.course == "a")
    assert [(row.competency, row.is_target) for row in step.outcomes] == [("skill", True), ("by-the-way", False)]
    assert step.outcomes[0].level_label == "Level 2"


def test_assessment_hours_are_added_up(plan: DevelopmentPlan) -> None:
    assert plan.assessment_hours == 3.5


def test_follow_up_days_are_one_six_and_twelve_calendar_months_after_the_last_day(plan: DevelopmentPlan) -> None:
    for step in plan.steps:
        months = [
            (day.day.year - step.last_day.year) * 12 + day.day.month - step.last_day.month for day in step.follow_ups
        ]
        assert months == [day.months for day in step.follow_ups] == [1, 6, 12]


def test_a_follow_up_after_a_long_month_falls_on_the_last_day_of_a_short_one(snapshot: Snapshot) -> None:
    profile = build_profile(snapshot, "p", MONDAY)
    path = find_learning_path(snapshot, profile, "r")
    schedule = plan_schedule(snapshot, profile, path, on=MONDAY)
    moved = replace(schedule.courses[0], last_day=date(2026, 8, 31))
    plan = build_development_plan(snapshot, "p", replace(schedule, courses=(moved,)), MONDAY)
    # 28 February is a Sunday: one follows up on the Monday after it
    assert [row.day for row in plan.steps[0].follow_ups] == [date(2026, 9, 30), date(2027, 3, 1), date(2027, 8, 31)]


def test_a_plan_at_the_end_of_the_calendar_leaves_out_what_lies_beyond(snapshot: Snapshot) -> None:
    profile = build_profile(snapshot, "p", MONDAY)
    schedule = plan_schedule(snapshot, profile, find_learning_path(snapshot, profile, "r"), on=MONDAY)
    late = replace(schedule.courses[0], last_day=date(9999, 5, 31))
    plan = build_development_plan(snapshot, "p", replace(schedule, courses=(late,)), MONDAY)
    assert [row.months for row in plan.steps[0].follow_ups] == [1, 6]


def get(snapshot: Snapshot, competency_id: str) -> Competency:
    return snapshot.competencies[competency_id]


@pytest.mark.parametrize(
    ("competency", "source"),
    [("licence", "certificate"), ("risky", "assessor"), ("skill", "manager"), ("by-the-way", "manager")],
)
def test_what_counts_as_proof_hangs_on_kind_and_safety(snapshot: Snapshot, competency: str, source: str) -> None:
    way, words = get_assessment_way(get(snapshot, competency))
    assert way == source
    assert words.endswith(".")


def test_practice_repeats_what_is_seen_at_the_level(snapshot: Snapshot) -> None:
    assert "until this is seen: does it with help near by." in describe_practice(get(snapshot, "skill"), LEVEL)
    bare = ScaleLevel("s5", 3, "Third", "")
    assert "until the level Third is seen." in describe_practice(get(snapshot, "skill"), bare)


def test_a_description_that_ends_with_a_full_stop_gives_one_only(snapshot: Snapshot) -> None:
    words = describe_practice(get(snapshot, "skill"), ScaleLevel("s5", 3, "Third", "Does it alone."))
    assert words.endswith("seen: does it alone.")


def test_practice_where_mistakes_can_hurt_is_supervised_and_kept_up(snapshot: Snapshot) -> None:
    words = describe_practice(get(snapshot, "risky"), LEVEL)
    assert "Under supervision until the level is confirmed" in words
    assert "4 times a year" in words
    assert "supervision" not in describe_practice(get(snapshot, "skill"), LEVEL)


def test_a_certificate_is_not_practised(snapshot: Snapshot) -> None:
    words = describe_practice(get(snapshot, "licence"), LEVEL)
    assert "note its last day" in words
    assert "until" not in words


def test_nothing_to_learn_gives_an_empty_plan(snapshot: Snapshot) -> None:
    profile = build_profile(snapshot, "p", MONDAY)
    everything: dict[str, Any] = {"skill": 2, "risky": 2, "licence": 1}
    path = find_learning_path(snapshot, replace(profile, levels=everything), "r")
    plan = build_development_plan(snapshot, "p", plan_schedule(snapshot, profile, path, on=MONDAY), MONDAY)
    assert (plan.steps, plan.assessment_hours) == ((), 0)
    assert [row.share for row in plan.strands] == [None, None, None]
