"""Learning paths with a budget, excluded and booked courses, weeks and alternatives, against every set of courses."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from brute_paths import (
    find_best,
    find_irredundant,
    find_largest_readiness,
    get_readiness,
    get_value,
    is_within,
    iterate_attempts,
)
from brute_routes import Learner, take
from company_strategies import draw_profiles, draw_snapshots
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from path_companies import build_choices

from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path, get_targets
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.snapshot.snapshot import Snapshot

AIMS = st.sampled_from(["hours", "cost", "courses", "weeks"])
UNITS = {"hours": 60, "cost": 100, "courses": 1, "weeks": 1}


def as_learner(profile: Profile) -> Learner:
    return Learner(profile.levels, profile.renewable, profile.role, profile.study_hours_per_week)


@st.composite
def draw_odd_questions(draw: st.DrawFn) -> tuple[Snapshot, Profile, dict[str, Any]]:
    """A company whose courses may have weeks of their own, a profile, and wishes; small and full of corner cases."""
    plain = draw(draw_snapshots(competencies=5, courses=7, roles=2))
    tables: dict[str, list[Any]] = {}
    for name, record in plain.iterate_records():
        tables.setdefault(name, []).append(record)
    tables["courses"] = [
        replace(course, weeks=draw(st.sampled_from([None, None, 0.0, 0.5, 1.0, 2.5]))) for course in tables["courses"]
    ]
    snapshot = Snapshot(tables)
    profile = replace(draw(draw_profiles(snapshot)), study_hours_per_week=draw(st.sampled_from([0.0, 2.0, 3.0, 4.0])))
    lots = st.lists(st.sampled_from(list(snapshot.courses)), max_size=2, unique=True)
    exclude = frozenset(draw(lots))
    booked = frozenset(draw(lots)) - exclude
    wishes = {
        "minimise": draw(AIMS),
        "with_desirable": draw(st.booleans()),
        "exclude": exclude,
        "already_booked": booked,
    }
    return snapshot, profile, wishes


def draw_questions() -> st.SearchStrategy[tuple[Snapshot, Profile, dict[str, Any]]]:
    return st.one_of(draw_odd_questions(), st.integers(0, 10**6).map(build_choices))


def get_brute(snapshot: Snapshot, profile: Profile, wishes: dict[str, Any]) -> tuple[Any, dict[str, int]]:
    """Return every attempt, and the targets that the largest of them reaches."""
    attempts = list(iterate_attempts(snapshot, as_learner(profile), wishes["exclude"], wishes["already_booked"]))
    targets = get_targets(snapshot, "r0", with_desirable=wishes["with_desirable"])
    reach = {i: max(attempt.levels.get(i, 0) for attempt in attempts) for i in targets}
    return attempts, {i: level for i, level in targets.items() if reach[i] >= level}


def get_ids(result: LearningPathResult) -> tuple[str, ...]:
    return tuple(sorted(course.id for course in result.courses))


def check_order(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> dict[str, int]:
    """Check that the order can be taken and the parts fit together; return the levels afterwards."""
    levels = dict(profile.levels)
    for course_id in result.order:
        before = dict(levels)
        assert take(snapshot, as_learner(profile), levels, snapshot.courses[course_id])
        row = next(row for row in (*result.courses, *result.booked) if row.id == course_id)
        assert {b.competency: (b.before, b.level) for b in row.brings} == {
            i: (before.get(i, 0), level) for i, level in levels.items() if level > before.get(i, 0)
        }
    possible = [row.id for row in result.booked if row.is_possible]
    assert sorted(result.order) == sorted([*get_ids(result), *possible])
    for row in result.booked:
        waits = [c.competency for c in snapshot.get_entry_conditions(row.id) if levels.get(c.competency, 0) < c.level]
        assert row.is_possible == (not waits)
        assert [w.competency for w in row.waits_for] == waits
    assert all(course.serves for course in result.courses)
    for requirement in result.requirements:
        assert requirement.reached == levels.get(requirement.competency, 0)
        if requirement.reached_by is None:
            assert requirement.reached == profile.get(requirement.competency)
        else:
            assert requirement.reached_by in result.order
    return levels


@given(draw_questions())
@settings(max_examples=draws(100), deadline=None)
def test_path_with_wishes_equals_the_best_of_all_sets(question: tuple[Snapshot, Profile, dict[str, Any]]) -> None:
    snapshot, profile, wishes = question
    learner = as_learner(profile)
    attempts, targets = get_brute(snapshot, profile, wishes)
    result = find_learning_path(snapshot, profile, "r0", **wishes)
    best = find_best(attempts, learner, targets, wishes["minimise"])
    assert best is not None
    assert get_ids(result) == best[1]
    assert abs(result.lower_bound - float(best[0][0]) / UNITS[wishes["minimise"]]) < 1e-9
    assert {row.competency for row in result.unreachable} == {i for i in result.targets if i not in targets}
    levels = check_order(snapshot, profile, result)
    requirements = snapshot.get_requirements("r0")
    assert result.readiness_after is not None
    assert abs(result.readiness_after - float(get_readiness(requirements, levels))) < 1e-12
    states = {row.competency: row.state for row in result.requirements}
    for i, level in result.targets.items():
        assert (states[i] in ("held", "reached")) == (levels.get(i, 0) >= level)
        assert (states[i] == "unreachable") == (i not in targets)


@given(
    draw_questions(),
    st.sampled_from([None, 0, 1.5, 4, 5.5, 8, 10, 14, 20]),
    st.sampled_from([None, None, 0, 5, 7.25, 10, 12.25]),
)
@settings(max_examples=draws(100), deadline=None)
def test_budget_buys_what_the_best_of_all_sets_within_it_brings(
    question: tuple[Snapshot, Profile, dict[str, Any]], max_hours: float | None, max_cost: float | None
) -> None:
    snapshot, profile, wishes = question
    learner, requirements = as_learner(profile), snapshot.get_requirements("r0")
    attempts, targets = get_brute(snapshot, profile, wishes)
    within = [attempt for attempt in attempts if is_within(attempt.courses, max_hours, max_cost)]
    result = find_learning_path(snapshot, profile, "r0", max_hours=max_hours, max_cost=max_cost, **wishes)
    levels = check_order(snapshot, profile, result)
    best = find_best(within, learner, targets, wishes["minimise"])
    if max_hours is None and max_cost is None:
        assert (result.within_budget, result.budget) == (None, None)
        return
    assert result.budget is not None
    assert result.within_budget == (best is not None)
    if best is not None:
        assert get_ids(result) == best[1]
    else:
        readiness, _, ids = find_largest_readiness(within, learner, requirements, wishes["minimise"])
        assert get_readiness(requirements, levels) == readiness
        assert get_ids(result) == ids
        assert result.budget.readiness_bound == result.readiness_after
    assert is_within([snapshot.courses[i] for i in get_ids(result)], max_hours, max_cost)
    whole = find_best(attempts, learner, targets, wishes["minimise"])
    assert whole is not None
    aims = dict(zip(("hours", "cost"), (result.budget.needed_hours * 60, result.budget.needed_cost * 100), strict=True))
    if wishes["minimise"] in aims:
        assert round(aims[wishes["minimise"]]) == whole[0][0]


@given(draw_questions(), st.sampled_from([None, 8.0, 20.0]), st.integers(1, 4))
@settings(max_examples=draws(70), deadline=None)
def test_alternatives_are_the_next_best_sets_of_which_no_course_can_be_left_out(
    question: tuple[Snapshot, Profile, dict[str, Any]], max_hours: float | None, count: int
) -> None:
    snapshot, profile, wishes = question
    learner = as_learner(profile)
    attempts, targets = get_brute(snapshot, profile, wishes)
    result = find_learning_path(snapshot, profile, "r0", max_hours=max_hours, alternatives=count, **wishes)
    if result.within_budget is False:
        assert result.alternatives is None
        return
    assert result.alternatives is not None
    sets = [a for a in find_irredundant(attempts, targets) if is_within(a.courses, max_hours, None)]
    ranked = sorted((get_value(learner, a.courses, wishes["minimise"]), a.ids) for a in sets)
    assert get_ids(result) == ranked[0][1]
    found = [tuple(sorted(alternative.courses)) for alternative in result.alternatives]
    assert found == [ids for _, ids in ranked[1 : count + 1]]
    for alternative in result.alternatives:
        levels, booked = dict(profile.levels), [snapshot.courses[i] for i in sorted(wishes["already_booked"])]
        for course_id in alternative.courses:
            for _ in booked:
                for course in booked:
                    take(snapshot, learner, levels, course)
            assert take(snapshot, learner, levels, snapshot.courses[course_id])
    assert all(alternative.is_proved for alternative in result.alternatives)
    in_all = frozenset.intersection(*(frozenset(a.ids) for a in find_irredundant(attempts, targets)))
    assert result.indispensable == tuple(sorted(in_all))
    for alternative in result.alternatives:
        assert abs(alternative.study_hours - result.study_hours - alternative.more_hours) < 1e-9
        assert abs(alternative.cost - result.cost - alternative.more_cost) < 1e-9
        assert abs(alternative.weeks - result.weeks - alternative.more_weeks) < 1e-9


@given(draw_questions(), st.data())
@settings(max_examples=draws(60), deadline=None)
def test_a_confirmation_saves_what_the_path_is_less_with_the_level_held(
    question: tuple[Snapshot, Profile, dict[str, Any]], data: st.DataObject
) -> None:
    snapshot, profile, wishes = question
    _, targets = get_brute(snapshot, profile, wishes)
    missing = [i for i in get_targets(snapshot, "r0") if profile.get(i) == 0]
    unassessed = frozenset(data.draw(st.lists(st.sampled_from(missing), unique=True))) if missing else frozenset()
    result = find_learning_path(snapshot, profile, "r0", unassessed=unassessed, **wishes)
    assert {row.competency for row in result.assess_savings} == set(result.assess_first) == unassessed
    for row in result.assess_savings:
        held = Profile(
            {**profile.levels, row.competency: row.level},
            profile.renewable,
            study_hours_per_week=profile.study_hours_per_week,
        )
        attempts = iterate_attempts(snapshot, as_learner(held), wishes["exclude"], wishes["already_booked"])
        best = find_best(attempts, as_learner(held), targets, wishes["minimise"])
        assert best is not None
        hours = sum(round(snapshot.courses[i].hours * 60) for i in best[1]) / 60
        assert row.saved_hours is not None
        assert abs(result.study_hours - hours - row.saved_hours) < 1e-9
        assert row.is_proved


@given(draw_questions(), st.sampled_from([4.0, 8.0, 14.0]), st.data())
@settings(max_examples=draws(40), deadline=None)
def test_more_budget_or_more_courses_never_bring_less(
    question: tuple[Snapshot, Profile, dict[str, Any]], max_hours: float, data: st.DataObject
) -> None:
    snapshot, profile, wishes = question

    def find(**more: Any) -> LearningPathResult:
        return find_learning_path(snapshot, profile, "r0", **(wishes | more))

    small, large = find(max_hours=max_hours), find(max_hours=max_hours + 4)
    if not small.within_budget:
        assert large.within_budget or (large.readiness_after or 0) >= (small.readiness_after or 0)
        fewer = find(
            max_hours=max_hours,
            exclude=wishes["exclude"] | {data.draw(st.sampled_from(small.order or ["x0"]))} - wishes["already_booked"],
        )
        assert (fewer.readiness_after or 0) <= (small.readiness_after or 0) or fewer.within_budget
    else:
        assert large.within_budget
    spare = [i for i in snapshot.courses if i not in wishes["exclude"] | wishes["already_booked"]]
    if spare:
        whole, other = find(), data.draw(st.sampled_from(spare))
        booked = find(already_booked=wishes["already_booked"] | {other})
        if {row.competency for row in booked.unreachable} == {row.competency for row in whole.unreachable}:
            assert booked.lower_bound <= whole.lower_bound + 1e-9
        without = find(exclude=wishes["exclude"] | {other})
        if {row.competency for row in without.unreachable} == {row.competency for row in whole.unreachable}:
            assert without.lower_bound >= whole.lower_bound - 1e-9


@given(draw_snapshots(competencies=5, roles=3))
@settings(max_examples=draws(60), deadline=None)
def test_readiness_before_is_that_of_the_gap(snapshot: Snapshot) -> None:
    for role in snapshot.roles:
        profile = build_role_profile(snapshot, "r0")
        gap = compute_gap(snapshot, role, from_role_id="r0", on=date(2026, 11, 24))
        assert find_learning_path(snapshot, profile, role).readiness_before == gap.readiness


@pytest.mark.parametrize("first", range(0, 50, 10))
def test_half_a_budget_buys_what_the_best_of_all_sets_brings(first: int) -> None:
    bought = 0
    for seed in range(first, first + 10):
        snapshot, profile, wishes = build_choices(seed)
        whole = find_learning_path(snapshot, profile, "r0", **wishes)
        limits = {"max_hours": whole.study_hours / 2, "max_cost": None if seed % 2 else whole.cost * 0.7}
        result = find_learning_path(snapshot, profile, "r0", **limits, **wishes)
        attempts, targets = get_brute(snapshot, profile, wishes)
        within = [a for a in attempts if is_within(a.courses, limits["max_hours"], limits["max_cost"])]
        best = find_best(within, as_learner(profile), targets, wishes["minimise"])
        assert result.within_budget == (best is not None)
        if best is None:
            requirements = snapshot.get_requirements("r0")
            _, _, ids = find_largest_readiness(within, as_learner(profile), requirements, wishes["minimise"])
            assert get_ids(result) == ids
            bought += bool(ids)
        else:
            assert get_ids(result) == best[1]
    assert bought
