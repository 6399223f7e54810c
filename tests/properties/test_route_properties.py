"""Routes and reachable roles against an exhaustive enumeration, on random small companies."""

from __future__ import annotations

import math
from typing import Any

import pytest
from brute_routes import (
    Learner,
    asked,
    compute_months,
    find_best_path,
    find_least_minutes,
    find_legal_routes,
    is_certificate,
    is_legal,
    keep_asked,
    keep_shown,
    reach_everything,
)
from company_strategies import build_route_company, draw_profiles, draw_snapshots
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.moves import find_reachable_roles
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.route_search import RoutesAsked, find_shown_routes
from ontology.analysis.routes.routes import RoutesResult, find_routes
from ontology.snapshot.snapshot import Snapshot

LIMITS = st.sampled_from([10.0, 8.0, 6.0, 4.0, 0.0, 11.5, 14.0, 20.0, math.inf])


def as_learner(profile: Profile) -> Learner:
    return Learner(profile.levels, profile.renewable, profile.role, profile.study_hours_per_week)


@st.composite
def draw_questions(draw: st.DrawFn) -> tuple[Snapshot, Profile, str, dict[str, Any]]:
    """A company, a person, a target and limits: small odd ones, or from a seed ones where routes are worth finding."""
    if draw(st.sampled_from([True, True, True, False])):
        snapshot, profile = build_route_company(draw(st.integers(0, 10**6)))
    else:
        snapshot = draw(draw_snapshots(competencies=4, courses=4, roles=5))
        profile = draw(draw_profiles(snapshot))
    limits = {
        "max_moves": draw(st.sampled_from([3, 3, 3, 2, 1, 4])),
        "preparation_limit": draw(LIMITS),
        "level_limit": draw(st.sampled_from([0, 1, 0, 1, 2, 3])),
        "avoid": (),
        "via": None,
    }
    middle = [r for r in snapshot.roles if r not in ("r0", profile.role) and snapshot.get_requirements(r)]
    draws = draw(st.sampled_from(["plain", "plain", "avoid", "via", "both"]))
    if draws in ("avoid", "both") and middle:
        limits["avoid"] = tuple(draw(st.sets(st.sampled_from(middle), max_size=2)))
    if draws in ("via", "both") and (open_roles := [r for r in middle if r not in limits["avoid"]]):
        limits["via"] = draw(st.sampled_from(open_roles))
    return snapshot, profile, "r0", limits


@given(draw_questions(), st.integers(1, 2))
@settings(max_examples=draws(100), deadline=None)
def test_routes_left_out_unseen_would_not_have_been_listed(
    question: tuple[Snapshot, Profile, str, dict[str, Any]], rest_limit: int
) -> None:
    snapshot, profile, target, limits = question
    rankings = []
    asked_about = RoutesAsked(target, limits["max_moves"], frozenset(limits["avoid"]), limits["via"])
    for count in (rest_limit, 999):
        costs = RouteCosts(
            snapshot,
            profile,
            preparation_limit=limits["preparation_limit"],
            level_limit=limits["level_limit"],
            deadline=Deadline(None),
        )
        shown = find_shown_routes(costs, asked_about, count)
        assert shown.is_complete
        rankings.append(shown.ranking)
        if count == 999:
            assert not shown.is_cut
    short, whole = rankings
    assert short.get_best() == whole.get_best()
    assert short.get_trade_off() == whole.get_trade_off()
    assert short.get_rest()[:rest_limit] == whole.get_rest()[:rest_limit]


def get_routes(result: RoutesResult) -> dict[tuple[str, ...], Any]:
    best = [result.best.study_hours, result.best.months, result.best.moves]
    return {route.roles: route for route in (*best, *result.trade_off, *result.other_routes) if route}


@given(draw_questions())
@settings(max_examples=draws(110), deadline=None)
def test_routes_equal_the_exhaustive_enumeration(question: tuple[Snapshot, Profile, str, dict[str, Any]]) -> None:
    snapshot, profile, target, limits = question
    learner = as_learner(profile)
    result = find_routes(snapshot, profile, target, **limits)
    bounds = (limits["preparation_limit"], limits["level_limit"])
    every = find_legal_routes(snapshot, learner, target, limits["max_moves"], *bounds)
    legal = keep_asked(every, limits["avoid"], limits["via"])
    shown = keep_shown(legal)
    months = {s: compute_months(snapshot, learner, s, least) for s, least in shown.items()}
    routes = get_routes(result)
    if len(shown) <= 20:
        assert set(routes) == set(shown)
    for sequence, route in routes.items():
        check_route(snapshot, learner, sequence, route, shown[sequence], bounds)
    if not shown:
        assert (result.status, result.lower_bound) == ("unreachable", None)
        assert (result.best.study_hours, result.best.months, result.best.moves) == (None, None, None)
        return
    assert result.lower_bound == min(legal.values()) / 60
    assert (result.status == "nothing-to-do") == (legal.get((target,)) == 0 and limits["via"] is None)
    assert result.status in ("optimal", "nothing-to-do")
    by_hours = min(shown, key=lambda s: (shown[s], months[s], len(s), s))
    by_months = min(shown, key=lambda s: (months[s], shown[s], len(s), s))
    by_moves = min(shown, key=lambda s: (len(s), shown[s], months[s], s))
    found = [r.roles if r else None for r in (result.best.study_hours, result.best.months, result.best.moves)]
    assert found == [by_hours, by_months, by_moves]
    points = {(shown[s], months[s]) for s in shown}
    front = {p for p in points if not any(q != p and q[0] <= p[0] and q[1] <= p[1] for q in points)}
    assert {r.roles for r in result.trade_off} == {s for s in shown if (shown[s], months[s]) in front}
    named = {r.roles for r in result.trade_off} | {by_moves}
    assert not named & {r.roles for r in result.other_routes}


def check_route(
    snapshot: Snapshot, learner: Learner, sequence: tuple[str, ...], route: Any, least: int, bounds: tuple[float, int]
) -> None:
    """Check a route's courses, sums and times against the text."""
    stages = [[snapshot.courses[i] for i in move.courses] for move in route.moves]
    assert [move.role for move in route.moves] == list(sequence)
    assert is_legal(snapshot, learner, sequence, stages, *bounds)
    taken = [course.id for stage in stages for course in stage]
    assert len(taken) == len(set(taken))
    assert round(route.study_hours * 60) == least == sum(round(c.hours * 60) for s in stages for c in s)
    assert sum(move.study_hours for move in route.moves) == pytest.approx(route.study_hours)
    assert route.months == pytest.approx(float(compute_months(snapshot, learner, sequence, least)))
    assert sum(move.months for move in route.moves) == pytest.approx(route.months)
    for move, stage in zip(route.moves[:-1], stages, strict=False):
        weeks = sum(course.hours for course in stage) / learner.pace
        assert move.months == pytest.approx(weeks / (52 / 12) + snapshot.roles[move.role].months_to_full)


@given(draw_questions())
@settings(max_examples=draws(120), deadline=None)
def test_direct_move_says_what_it_takes_and_breaks(question: tuple[Snapshot, Profile, str, dict[str, Any]]) -> None:
    snapshot, profile, target, limits = question
    learner = as_learner(profile)
    direct = find_routes(snapshot, profile, target, **(limits | {"max_moves": 1})).direct
    entries = {r.competency: r.entry_level for r in asked(snapshot, target)}
    best = find_best_path(snapshot, learner, entries, "hours")
    leaps = [
        (i, level - profile.get(i))
        for i, level in entries.items()
        if not is_certificate(snapshot, i) and level - profile.get(i) > limits["level_limit"]
    ]
    assert [(b.competency, b.needed) for b in direct.broken_limits if b.limit == "level"] == leaps
    if best is None:
        reached = reach_everything(snapshot, learner)
        assert (direct.study_hours, direct.within_reach) == (None, False)
        assert {row.competency for row in direct.unreachable} == {i for i in entries if reached.get(i, 0) < entries[i]}
        return
    (least, money, _), ids = best
    assert (direct.study_hours, direct.cost) == (least / 60, money / 100)
    assert tuple(sorted(direct.moves[0].courses)) == ids
    too_long = least > limits["preparation_limit"] * 60
    assert [b.needed for b in direct.broken_limits if b.limit == "preparation"] == [least / 60] * too_long
    assert direct.within_reach == (not leaps and not too_long)


@given(draw_questions())
@settings(max_examples=draws(80), deadline=None)
def test_reachable_roles_are_the_legal_single_moves(question: tuple[Snapshot, Profile, str, dict[str, Any]]) -> None:
    snapshot, profile, _, limits = question
    limits = {name: limits[name] for name in ("preparation_limit", "level_limit")}
    learner = as_learner(profile)
    rows = find_reachable_roles(snapshot, profile, **limits).roles
    expected = {r for r in snapshot.roles if r != profile.role and snapshot.get_requirements(r)}
    assert {row.id for row in rows} == expected
    for row in rows:
        legal = find_least_minutes(snapshot, learner, (row.id,), *limits.values())
        assert row.within_reach == (legal is not None)
        entries = {r.competency: r.entry_level for r in asked(snapshot, row.id)}
        best = find_best_path(snapshot, learner, entries, "hours")
        assert row.study_hours == (None if best is None else best[0][0] / 60)


@given(draw_questions(), st.data())
@settings(max_examples=draws(60), deadline=None)
def test_a_larger_start_profile_never_costs_more(
    question: tuple[Snapshot, Profile, str, dict[str, Any]], data: st.DataObject
) -> None:
    snapshot, profile, target, limits = question
    before = find_routes(snapshot, profile, target, **limits)
    if before.lower_bound is None:
        return
    i = data.draw(st.sampled_from(list(snapshot.competencies)))
    larger = Profile(dict(profile.levels) | {i: profile.get(i) + 1}, renewable=profile.renewable, role=profile.role)
    after = find_routes(snapshot, larger, target, **limits)
    assert after.lower_bound is not None
    assert after.lower_bound <= before.lower_bound


@given(draw_questions())
@settings(max_examples=draws(60), deadline=None)
def test_role_graph_holds_the_legal_single_moves_between_full_profiles(
    question: tuple[Snapshot, Profile, str, dict[str, Any]],
) -> None:
    snapshot, _, _, limits = question
    bounds = (limits["preparation_limit"], limits["level_limit"])
    graph = build_role_graph(snapshot, preparation_limit=bounds[0], level_limit=bounds[1])
    roles = [r for r in snapshot.roles if snapshot.get_requirements(r)]
    expected = {}
    for start in roles:
        learner = as_learner(build_role_profile(snapshot, start))
        for target in roles:
            least = None if target == start else find_least_minutes(snapshot, learner, (target,), *bounds)
            if least is not None:
                expected[start, target] = least / 60
    assert {(start, target): hours for start, target, hours in graph.edges(data="study_hours")} == expected
    assert list(graph) == roles
