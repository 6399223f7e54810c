"""The team after a plan: what coverage and staffing say of the day that the plan names."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training
from ontology.analysis.training.plan_effect import PlanEffect, compute_plan_effect
from ontology.snapshot.snapshot import Snapshot

LONG: dict[str, Any] = {"id": "b2", "label": "b2", "hours": 4.0, "weeks": 4.0}


def after(day: int) -> date:
    return ON + timedelta(days=day)


def need(competency: str, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": 2, "minimum": 1, "target": 1} | more


def certify(person: str, competency: str, until: int, level: int = 2) -> dict[str, Any]:
    held = {"person": person, "competency": competency, "level": level, "date": after(-9), "source": "certificate"}
    return held | {"valid_until": after(until)}


def build(rows: Rows, needs: list[dict[str, Any]], *, renews: bool = True, **course: Any) -> Snapshot:
    """Return the team with a course of four weeks for b, and one that renews a."""
    return build_team(
        rows,
        cover_needs=needs,
        courses=[LONG, {"id": "again", "label": "Again", "hours": 4.0, "weeks": 1.0} | course],
        outcomes=[
            {"course": "b2", "competency": "b", "level": 2},
            *([{"course": "again", "competency": "a", "level": 2, "renews": True}] if renews else []),
        ],
    )


def compute(snapshot: Snapshot, **rules: Any) -> tuple[CrossTrainingResult, PlanEffect]:
    plan = plan_cross_training(snapshot, "t", ON, asked=TrainingAsked(**rules))
    return plan, compute_plan_effect(snapshot, plan)


def get_qualified(effect: PlanEffect) -> dict[str, tuple[str, ...]]:
    return {row.competency: row.qualified for row in effect.needs}


def build_certified(*rows: dict[str, Any], **levels: dict[str, int]) -> Rows:
    """Return a team in which a is a certificate, held as the rows say."""
    made = build_team_rows(**levels)
    made["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "refresher_months": 6}
    made["assessments"] += rows
    return made


def test_after_the_plan_is_the_day_its_last_course_is_done() -> None:
    plan, effect = compute(build(build_team_rows(p={}), [need("b")]))
    assert (plan.finished_on, plan.after_on, effect.on) == (after(28), after(28), after(28))
    assert get_qualified(effect) == {"b": ("p",)}


def test_without_anything_to_do_it_is_the_day_asked_about() -> None:
    plan, effect = compute(build(build_team_rows(p={"b": 2}), [need("b")]))
    assert (plan.finished_on, plan.after_on, effect.on) == (None, ON, ON)
    assert get_qualified(effect) == {"b": ("p",)}


def test_what_lapses_until_then_is_gone_and_told_with_the_course_that_would_keep_it() -> None:
    rows = build_certified(certify("p", "a", 20), p={}, q={})
    _, effect = compute(build(rows, [need("a"), need("b")]))
    assert get_qualified(effect) == {"a": (), "b": ("p",)}
    (row,) = effect.lapses
    assert (row.person, row.competency, row.level, row.valid_until) == ("p", "a", 2, after(20))
    # a week before the first day without it: a refresher counts for some months after the lapse
    assert (row.renewal, row.last_day_to_act, row.is_late) == ("again", after(14), False)


@pytest.mark.parametrize(
    ("more", "until", "expected"),
    [
        ({"lead_weeks": 2.0}, 20, ("again", after(0), False)),
        ({"lead_weeks": 3.0}, 20, ("again", after(-7), True)),
        ({}, 28, None),
        ({"renews": False}, 20, (None, None, False)),
    ],
)
def test_the_last_day_to_act_counts_lead_time_and_may_have_passed(
    more: dict[str, Any], until: int, expected: tuple[str | None, date | None, bool] | None
) -> None:
    rows = build_certified(certify("p", "a", until), p={}, q={})
    _, effect = compute(build(rows, [need("a"), need("b")], **more))
    told = [(row.renewal, row.last_day_to_act, row.is_late) for row in effect.lapses]
    assert told == ([] if expected is None else [expected])


def test_a_refresher_for_holders_alone_must_be_done_while_the_level_is_held() -> None:
    rows = build_certified(certify("p", "a", 20), p={}, q={})
    rows["competencies"][0]["refresher_months"] = None
    _, effect = compute(build(rows, [need("a"), need("b")]))
    assert [row.last_day_to_act for row in effect.lapses] == [after(13)]


def test_a_level_lapses_with_that_of_the_need_and_not_with_the_highest() -> None:
    rows = build_certified(certify("p", "a", 5, level=3), certify("p", "a", 20), p={}, q={})
    _, effect = compute(build(rows, [need("a"), need("b")]))
    assert [(row.level, row.valid_until) for row in effect.lapses] == [(2, after(20))]


def test_who_leaves_starts_or_is_absent_then_is_told() -> None:
    rows = build_team_rows(p={}, q={"a": 2}, r={"a": 2}, s={"a": 2})
    rows["people"][1]["end_date"] = after(10)
    rows["people"][2]["start_date"] = after(10)
    rows["absences"] = [{"person": "s", "from_date": after(28), "to_date": after(28)}]
    _, effect = compute(build(rows, [need("a"), need("b")]), exclude_people=frozenset("s"))
    assert (effect.joining, effect.leaving, effect.absent) == (("r",), ("q",), ("s",))
    (row,) = [row for row in effect.needs if row.competency == "a"]
    assert (row.qualified, row.present) == (("r", "s"), ("r",))


def test_who_leaves_before_a_lapse_has_nothing_to_renew() -> None:
    rows = build_certified(certify("p", "a", 20), p={}, q={})
    rows["people"][0]["end_date"] = after(10)
    _, effect = compute(build(rows, [need("a"), need("b")]), exclude_people=frozenset("p"))
    assert (effect.leaving, effect.lapses) == (("p",), ())


def test_a_level_counts_for_the_shift_that_needs_it() -> None:
    rows = build_certified(certify("p", "a", 20), certify("q", "a", 21), p={}, q={}, r={})
    rows["shifts"] = [{"id": i, "team": "t", "label": i} for i in ("day", "night")]
    for person, shift in zip(rows["people"], ("day", "night", ""), strict=True):
        person["shift"] = shift
    _, effect = compute(build(rows, [need("a", applies="day"), need("b")]))
    assert [row.person for row in effect.lapses] == ["p"]


def test_what_a_course_reaches_besides_its_aim_and_what_is_assessed_meanwhile_count() -> None:
    rows = build_team_rows(p={}, q={})
    rows["assessments"] = [{"person": "q", "competency": "c", "level": 2, "date": after(5), "source": "assessor"}]
    snapshot = build_team(
        rows,
        cover_needs=[need("a", target=0 + 1, minimum=1), need("b"), need("c")],
        courses=[LONG],
        outcomes=[{"course": "b2", "competency": i, "level": 2} for i in "ab"],
    )
    _, effect = compute(snapshot)
    assert get_qualified(effect) == {"a": ("p",), "b": ("p",), "c": ("q",)}


def test_places_and_slots_of_groups_are_filled_as_staffing_fills_them_that_day() -> None:
    rows = build_team_rows(p={}, q={"a": 2})
    rows["roles"] = [{"id": "job", "label": "Job"}]
    rows["requirements"] = [{"role": "job", "competency": "b", "level": 2}]
    rows["places"] = [{"id": "post", "team": "t", "role": "job", "count": 2}]
    rows["people"][1]["end_date"] = after(10)
    needs = [need("a", together="g"), need("b", together="g")]
    _, effect = compute(build(rows, needs))
    assert (effect.places, effect.filled, effect.together_slots, effect.together_filled) == (2, 1, 2, 0)
    assert effect.unfilled == ("post",)
    assert [(row.competency, row.slots) for row in effect.unfilled_needs] == [("a", 1), ("b", 1)]


def test_who_is_supposed_away_is_away_afterwards_too() -> None:
    snapshot = build(build_team_rows(p={}, q={"a": 2}), [need("a"), need("b")])
    plan = plan_cross_training(snapshot, "t", ON, away=frozenset("q"))
    effect = compute_plan_effect(snapshot, plan)
    assert [(row.competency, row.present) for row in effect.needs] == [("a", ()), ("b", ("p",))]
