"""What a route may do: the limits of each preparation, and what grows in a role and what never does."""

from __future__ import annotations

import math

import pytest
from route_cases import START, build_company, get_plan

from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.routes import find_routes


def test_time_in_a_role_saves_study_and_costs_months() -> None:
    company = build_company({"t": "a:3", "m": "a:1-3"}, {"long": (100, "", "a:3"), "short": (8, "", "a:1")})
    result = find_routes(company, START, "t", level_limit=3)
    assert result.best.study_hours is not None
    assert get_plan(result.best.study_hours) == [("m", ("short",)), ("t", ())]
    assert result.best.study_hours.months == pytest.approx(8 / 4 * 12 / 52 + 12)
    assert [move.months for move in result.best.study_hours.moves] == pytest.approx([8 / 4 * 12 / 52 + 12, 0])
    assert result.best.months is not None
    assert result.best.months.roles == result.best.moves.roles == ("t",)  # type: ignore[union-attr]
    assert result.best.months.study_hours == 100
    assert [route.roles for route in result.trade_off] == [("m", "t"), ("t",)]


def test_each_preparation_keeps_the_limit_even_at_a_higher_total() -> None:
    # the cheapest pair of courses does not fit into two windows of 10 hours; a dearer one does
    company = build_company(
        {"t": "a:1 b:1", "m": "c:1"},
        {"ab": (15, "", "a:1 b:1"), "a": (9, "", "a:1"), "b": (8, "", "b:1")},
    )
    result = find_routes(company, Profile({"c": 1}), "t", preparation_limit=10)
    assert result.best.study_hours is not None
    assert (result.best.study_hours.roles, result.best.study_hours.study_hours) == (("m", "t"), 17)


def test_level_limit_is_judged_when_the_preparation_starts() -> None:
    # t asks a:4; courses before m bring a:2 in time, courses after m would come too late for the limit
    company = build_company(
        {"t": "a:4", "m": "c:1"}, {"low": (5, "", "a:2"), "high": (9, "", "a:4"), "step": (6, "a:2", "a:4")}
    )
    start = Profile({"c": 1})
    result = find_routes(company, start, "t")
    assert [(b.limit, b.competency, b.needed) for b in result.direct.broken_limits] == [("level", "a", 4)]
    assert result.best.study_hours is not None
    # the whole course before m is the cheapest way to be there when the second preparation starts
    assert get_plan(result.best.study_hours) == [("m", ("high",)), ("t", ())]
    tight = find_routes(company, start, "t", preparation_limit=6)
    assert tight.best.study_hours is not None
    assert get_plan(tight.best.study_hours) == [("m", ("low",)), ("t", ("step",))]


def test_growth_opens_the_level_limit_of_the_next_move() -> None:
    # the high course does not fit beside b before m, and a:2 alone is too far from a:5: a year in m brings a:3
    company = build_company(
        {"t": "a:5", "m": "a:2-3 b:1"}, {"low": (5, "", "a:2"), "high": (50, "", "a:5"), "b": (10, "", "b:1")}
    )
    result = find_routes(company, START, "t", preparation_limit=55)
    assert result.best.study_hours is not None
    assert get_plan(result.best.study_hours) == [("m", ("b", "low")), ("t", ("high",))]


def test_a_role_in_between_leaves_time_to_use_growth_before_the_next_level_limit() -> None:
    # at level limit 0 a:2 must be there before the preparation for t starts, and x needs what only a year in m brings:
    # without n the preparation for t starts at once; with n in between x can be taken in time
    roles, start = {"t": "a:2", "m": "b:1 a:0-1", "n": "b:1"}, Profile({"b": 1})
    only = find_routes(build_company(roles, {"x": (5, "a:1", "a:2")}), start, "t", level_limit=0)
    assert (only.status, only.lower_bound, only.other_routes) == ("optimal", 5, ())
    assert [get_plan(route) for route in only.trade_off] == [[("m", ()), ("n", ("x",)), ("t", ())]]
    # the same where a long course makes the sequences without it legal but dearer
    courses = {"x": (5, "a:1", "a:2"), "long": (50, "", "a:1")}
    saving = find_routes(build_company(roles, courses), start, "t", level_limit=0)
    assert saving.best.study_hours is not None
    assert (saving.best.study_hours.roles, saving.best.study_hours.study_hours) == (("m", "n", "t"), 5)
    shown = {route.roles: route.study_hours for route in (*saving.trade_off, *saving.other_routes)}
    assert shown == {("m", "n", "t"): 5, ("m", "t"): 55, ("n", "t"): 55}


def test_certificates_never_grow_and_no_level_limit_holds_for_them() -> None:
    company = build_company({"t": "z:5", "m": "z:1-5"}, {"low": (5, "", "z:1"), "high": (50, "", "z:5")})
    result = find_routes(company, START, "t")
    assert result.best.study_hours is not None
    assert [route.roles for route in result.trade_off] == [("t",)]
    assert (result.best.study_hours.study_hours, result.other_routes) == (50, ())


def test_desirable_requirements_grow_only_when_learned_on_the_job() -> None:
    company = build_company({"t": "b:1", "m": "a:1 b:0-1"}, {"x": (5, "", "a:1"), "y": (50, "", "b:1")})
    result = find_routes(company, START, "t")
    assert result.best.study_hours is not None
    assert result.best.study_hours.roles == ("m", "t")


def test_no_legal_route_is_unreachable_and_the_direct_move_says_why() -> None:
    company = build_company({"t": "a:1 b:2", "m": "b:1"}, {"x": (5, "", "b:2")})
    result = find_routes(company, START, "t")
    assert (result.status, result.lower_bound, result.trade_off) == ("unreachable", None, ())
    assert result.best.study_hours is None
    assert (result.direct.study_hours, result.direct.within_reach) == (None, False)
    assert [row.competency for row in result.direct.unreachable] == ["a"]


def test_a_target_beyond_all_limits_is_unreachable_although_courses_reach_it() -> None:
    company = build_company({"t": "a:1"}, {"x": (500, "", "a:1")})
    result = find_routes(company, START, "t")
    assert (result.status, result.direct.study_hours) == ("unreachable", 500)
    free = find_routes(company, START, "t", preparation_limit=math.inf)
    assert (free.status, free.lower_bound) == ("optimal", 500)


def test_max_moves_bounds_the_chain() -> None:
    company = build_company({"m": "a:1-2", "n": "a:2-3", "t": "a:3"}, {"x": (5, "", "a:1")})
    assert find_routes(company, START, "t", max_moves=2).status == "unreachable"
    result = find_routes(company, START, "t", max_moves=3)
    assert result.best.study_hours is not None
    assert (result.best.study_hours.roles, result.best.study_hours.months) == (
        ("m", "n", "t"),
        pytest.approx(5 / 4 * 12 / 52 + 24),
    )


def test_every_stage_keeps_the_limit_not_only_one_of_them() -> None:
    # 5 hours must come before m; the two of 8 fit neither beside them nor together, although 21 of 22 are asked
    company = build_company(
        {"t": "a:1 b:1", "m": "c:1"}, {"xa": (8, "", "a:1"), "xb": (8, "", "b:1"), "xc": (5, "", "c:1")}
    )
    assert find_routes(company, START, "t", preparation_limit=11, max_moves=2).status == "unreachable"
    wider = find_routes(company, START, "t", preparation_limit=13, max_moves=2)
    assert [(route.roles, route.study_hours) for route in wider.trade_off] == [(("m", "t"), 21)]
