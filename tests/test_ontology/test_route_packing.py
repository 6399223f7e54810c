"""Parts of a placement problem, and packing chosen courses into limited stages."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import (
    Offer,
    Stage,
    StagedProblem,
    build_catalogue,
    build_staged_problem,
    get_whole_minutes,
)
from ontology.analysis.paths.planner import PartSolver, Plan, solve_staged, split_problem
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.route_packing import pack


def build_offer(course: str, minutes: int, gives: str, asks: str = "") -> Offer:
    return Offer(course, minutes, 0, tuple((i, 1) for i in asks.split()), tuple((i, 1) for i in gives.split()))


def build_goals(text: str) -> Stage:
    return Stage({}, frozenset((i, 1) for i in text.split()))


def test_courses_that_are_not_due_fill_earlier_stages() -> None:
    offers = [build_offer("x1", 50, "a"), build_offer("x2", 60, "b"), build_offer("x3", 40, "c")]
    packed = pack([build_goals("a"), build_goals("b c")], offers, 100)
    assert packed is not None
    assert {offer.id: k for offer, k in packed} == {"x1": 0, "x2": 1, "x3": 0}


def test_what_a_due_course_waits_for_is_due_too() -> None:
    offers = [build_offer("x1", 10, "a", asks="b"), build_offer("x2", 20, "b"), build_offer("x3", 80, "c")]
    packed = pack([build_goals("a"), build_goals("c")], offers, 80)
    assert packed is not None
    assert [(offer.id, k) for offer, k in packed] == [("x2", 0), ("x1", 0), ("x3", 1)]


def test_no_packing_where_a_stage_must_hold_too_much() -> None:
    offers = [build_offer("x1", 60, "a"), build_offer("x2", 60, "b")]
    assert pack([build_goals("a b"), build_goals("")], offers, 100) is None
    assert pack([build_goals("a"), build_goals("b")], offers, 59) is None


def test_long_courses_are_packed_before_short_ones() -> None:
    # the short ones first would leave the two long ones for the last stage
    offers = [
        build_offer(f"x{n}", minutes, i) for n, (minutes, i) in enumerate(zip((40, 40, 60, 60), "abcd", strict=True))
    ]
    packed = pack([build_goals(""), build_goals("a b c d")], offers, 100)
    assert packed is not None
    assert [(offer.minutes, k) for offer, k in packed] == [(60, 0), (40, 0), (60, 1), (40, 1)]


def test_no_packing_leaves_a_course_out() -> None:
    offers = [build_offer("x1", 50, "a"), build_offer("x2", 20, "b")]
    assert pack([build_goals("a")], offers, 60) is None
    assert pack([build_goals("a")], offers, 70) is not None


def test_parts_share_no_course_and_add_up_to_the_whole() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c d"),
        courses=[{"id": f"x{n}", "label": "X", "hours": float(n)} for n in range(1, 6)],
        outcomes=[
            {"course": course, "competency": i, "level": 2}
            for course, i in (("x1", "a"), ("x2", "b"), ("x3", "a"), ("x3", "b"), ("x4", "c"), ("x5", "d"))
        ],
        entry_conditions=[{"course": "x4", "competency": "d", "level": 1}],
    )
    goals = frozenset({("a", 2), ("b", 1), ("c", 2)})
    catalogue = build_catalogue(company, Profile({}))
    staged = build_staged_problem(catalogue, [Stage({}, goals), Stage({"a": 2}, goals)], aims=("hours", "courses"))
    parts = split_problem(staged)
    courses = [{offer.id for offer, _ in part.operators} for part in parts]
    assert courses == [{"x1", "x2", "x3"}, {"x4", "x5"}]
    whole, sum_of_parts = solve_staged(staged), PartSolver(Deadline(None)).solve(staged)
    assert whole is not None
    assert sum_of_parts is not None
    assert (whole.value, whole.lower_bound) == (sum_of_parts.value, sum_of_parts.lower_bound) == (12 * 60, 12 * 60)
    assert set(whole.order) == set(sum_of_parts.order)


def test_a_part_that_is_remembered_is_told_from_one_with_other_goals() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b"),
        courses=[{"id": f"x{n}", "label": "X", "hours": hours} for n, hours in ((1, 1.0), (2, 9.0), (3, 5.0))],
        outcomes=[{"course": f"x{n}", "competency": i, "level": 1} for n, i in ((1, "a"), (2, "b"), (3, "a"))],
        entry_conditions=[{"course": "x1", "competency": "b", "level": 1}],
    )
    catalogue = build_catalogue(company, Profile({}))
    solver = PartSolver(Deadline(None))
    hours = []
    for goals in ({("a", 1)}, {("a", 1), ("b", 1)}, {("a", 1)}):
        plan = solver.solve(build_staged_problem(catalogue, [Stage({}, frozenset(goals))]))
        assert plan is not None
        hours.append(plan.value)
    assert hours == [5 * 60, 10 * 60, 5 * 60]


def test_limits_are_whole_minutes_at_or_below_them() -> None:
    assert [get_whole_minutes(hours) for hours in (0.1, 0.29, 200.0, float("inf"))] == [6, 17, 12000, None]
    # 2.05 x 60 is a hair below 123 in floating point
    assert [get_whole_minutes(hours) for hours in (2.05, 4.1)] == [123, 246]


def test_hours_of_a_stage_have_a_row_only_where_they_can_be_exceeded() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a"),
        courses=[{"id": "x", "label": "X", "hours": 1.5}],
        outcomes=[{"course": "x", "competency": "a", "level": 1}],
    )
    catalogue = build_catalogue(company, Profile({}))
    rows = [
        build_staged_problem(catalogue, [build_goals("a")], stage_limit_minutes=limit).problem.side_rows
        for limit in (89, 90)
    ]
    assert [[(row.coefficients, row.upper_bound) for row in found] for found in rows] == [[(((0, 90),), 89)], []]


def test_a_goal_that_is_held_asks_for_nothing() -> None:
    held = Stage({"a": 1}, frozenset({("a", 1)}))
    company = build_snapshot(scales=build_scale(), competencies=build_competencies("a"))
    assert build_staged_problem(build_catalogue(company, Profile({})), [held]).facts == ()


def test_whole_is_proved_only_when_every_part_is(monkeypatch: pytest.MonkeyPatch) -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b"),
        courses=[{"id": i, "label": i, "hours": 3.0} for i in ("xa", "xb")],
        outcomes=[{"course": f"x{i}", "competency": i, "level": 1} for i in "ab"],
    )
    catalogue = build_catalogue(company, Profile({}))
    staged = build_staged_problem(catalogue, [build_goals("a b")])

    def give_up_on(out: str, part: StagedProblem, **more: Any) -> Plan | None:
        plan = solve_staged(part, **more)
        is_out = any(fact[0] == out for fact in part.facts)
        return replace(plan, is_proved=False) if plan is not None and is_out else plan

    assert len(split_problem(staged)) == 2
    for out, is_proved in (("", True), ("a", False), ("b", False)):
        monkeypatch.setattr("ontology.analysis.paths.planner.solve_staged", partial(give_up_on, out))
        whole = PartSolver(Deadline(None)).solve(staged)
        assert whole is not None
        assert (whole.value, whole.is_proved) == (360, is_proved)
