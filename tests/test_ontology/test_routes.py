"""Upskilling routes: joint placement of courses, what is shown, ties, and what is wished of them."""

from __future__ import annotations

import math
from typing import Any

import pytest
from brute_routes import Learner, find_legal_routes
from company_strategies import build_route_company
from route_cases import START, build_company, get_plan

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.routes import find_routes
from ontology.errors import InputError, UnknownIdError


def test_direct_move_without_study_is_nothing_to_do() -> None:
    company = build_company({"t": "a:2-4", "m": "a:1-5"}, {})
    result = find_routes(company, Profile({"a": 2}), "t")
    assert (result.status, result.lower_bound) == ("nothing-to-do", 0)
    assert result.best.study_hours == result.best.months == result.best.moves
    assert result.best.moves is not None
    assert get_plan(result.best.moves) == [("t", ())]
    assert (result.trade_off, result.other_routes) == ((result.best.moves,), ())


def test_a_course_before_the_first_move_may_serve_the_third() -> None:
    # x serves the first move and, at a higher level than that move asks, the third
    company = build_company(
        {"m": "a:1 c:0-1", "n": "c:1 d:0-1", "t": "a:3 d:1"},
        {"low": (5, "", "a:1"), "high": (8, "", "a:3")},
    )
    result = find_routes(company, START, "t", level_limit=3)
    assert result.best.study_hours is not None
    assert result.best.study_hours.roles == ("m", "n", "t")
    assert result.best.study_hours.study_hours == 8
    assert get_plan(result.best.study_hours)[0] == ("m", ("high",))


def test_an_intermediate_role_that_only_opens_another_window_is_shown() -> None:
    # 300 hours do not fit before one move; with any move in between they do
    company = build_company({"t": "a:1 b:1", "m": "c:1"}, {"x1": (150, "", "a:1"), "x2": (150, "", "b:1")})
    result = find_routes(company, Profile({"c": 1}), "t")
    assert result.best.study_hours is not None
    assert result.best.study_hours.roles == ("m", "t")
    assert [move.study_hours for move in result.best.study_hours.moves] == [150, 150]
    broken = [(b.limit, b.allowed, b.needed) for b in result.direct.broken_limits]
    assert (result.direct.study_hours, result.direct.within_reach, broken) == (300, False, [("preparation", 200, 300)])


def test_a_route_that_gains_nothing_by_a_role_is_not_shown() -> None:
    company = build_company({"t": "a:1", "m": "b:1-2"}, {"x": (5, "", "a:1"), "y": (0, "", "b:1")})
    result = find_routes(company, START, "t")
    assert [route.roles for route in result.trade_off] == [("t",)]
    assert result.other_routes == ()


def test_the_present_role_and_bare_roles_are_no_stepping_stones() -> None:
    company = build_company(
        {"now": "b:1-2", "bare": "", "t": "a:1 c:1"}, {"x1": (150, "", "a:1"), "x2": (150, "", "c:1")}
    )
    assert find_routes(company, Profile({"b": 1}, role="now"), "t").status == "unreachable"
    assert find_routes(company, Profile({"b": 1}), "t").status == "optimal"


def test_ties_are_settled_by_months_then_moves_then_ids() -> None:
    company = build_company(
        {"t": "a:3", "m1": "a:1-3", "m2": "a:1-3", "m3": "a:1-3"},
        {"x": (5, "", "a:1")},
        months={"m1": 12, "m2": 6, "m3": 6},
    )
    result = find_routes(company, START, "t")
    assert result.best.study_hours is not None
    assert result.best.study_hours.roles == ("m2", "t")
    assert [route.roles for route in result.trade_off] == [("m2", "t"), ("m3", "t")]
    assert [route.roles for route in result.other_routes] == [("m1", "t")]


def test_a_course_is_placed_as_late_as_the_least_hours_allow() -> None:
    company = build_company({"m": "a:1 b:0-1", "t": "b:1 c:1"}, {"x1": (5, "", "a:1"), "x2": (6, "", "c:1")})
    result = find_routes(company, START, "t")
    assert result.best.study_hours is not None
    assert get_plan(result.best.study_hours) == [("m", ("x1",)), ("t", ("x2",))]


def test_no_time_for_study_leaves_months_open() -> None:
    company = build_company({"t": "a:1", "m": "b:1"}, {"x": (5, "", "a:1")})
    result = find_routes(company, Profile({}, study_hours_per_week=0.0), "t")
    assert result.best.months is not None
    assert (result.best.months.months, result.direct.months) == (None, None)
    assert len(result.remarks) == 1


def test_wrong_questions_are_refused() -> None:
    company = build_company({"t": "a:1", "bare": ""}, {})
    with pytest.raises(InputError, match="present role"):
        find_routes(company, Profile({}, role="t"), "t")
    with pytest.raises(InputError, match="present role"):
        find_routes(company, build_role_profile(company, "t"), "t")
    with pytest.raises(InputError, match="no requirements"):
        find_routes(company, START, "bare")
    with pytest.raises(InputError):
        find_routes(company, START, "t", max_moves=0)
    with pytest.raises(UnknownIdError):
        find_routes(company, START, "nobody")


def test_a_struck_time_limit_is_an_answer_with_a_bound() -> None:
    company = build_company({"t": "a:3", "m": "a:1-3"}, {"long": (100, "", "a:3"), "short": (8, "", "a:1")})
    result = find_routes(company, START, "t", time_limit_s=0.0)
    assert result.status == "feasible"
    assert result.lower_bound is not None
    assert result.lower_bound <= 8


def test_a_role_that_saves_half_an_hour_is_shown_and_the_bound_is_that_of_the_best() -> None:
    company = build_company({"t": "a:3", "m": "a:1-3"}, {"long": (8.5, "", "a:3"), "short": (8, "", "a:1")})
    result = find_routes(company, START, "t", level_limit=3)
    assert [(route.roles, route.study_hours) for route in result.trade_off] == [(("m", "t"), 8), (("t",), 8.5)]
    assert (result.status, result.lower_bound) == ("optimal", 8)


@pytest.mark.parametrize(("count", "is_cut"), [(21, False), (22, True), (30, True)])
def test_at_most_twenty_further_routes_are_listed_and_a_remark_says_when_there_are_more(
    count: int, is_cut: bool
) -> None:
    steps = [f"m{n:02}" for n in range(count)]
    company = build_company(
        {"t": "a:3"} | dict.fromkeys(steps, "a:1-3"),
        {"x": (5, "", "a:1")},
        months={step: 6 + n for n, step in enumerate(steps)},
    )
    result = find_routes(company, START, "t", max_moves=2)
    assert [route.roles for route in result.trade_off] == [("m00", "t")]
    assert [route.roles[0] for route in result.other_routes] == steps[1:21]
    assert len(result.remarks) == is_cut


def test_cost_of_a_route_is_the_sum_over_its_courses_in_money() -> None:
    company = build_company(
        {"t": "a:3 b:1", "m": "a:1-3"},
        {"long": (100, "", "a:3"), "short": (8, "", "a:1"), "more": (2, "", "b:1")},
        costs={"long": 900.0, "short": 80.5, "more": 0.25},
    )
    result = find_routes(company, START, "t", level_limit=3)
    assert [(route.roles, route.cost) for route in result.trade_off] == [(("m", "t"), 80.75), (("t",), 900.25)]
    assert result.direct.cost == 900.25


def test_a_role_to_pass_is_never_measured_by_leaving_it_out() -> None:
    # m gains nothing on the way to t, n saves the long course
    company = build_company(
        {"t": "a:3", "m": "b:1", "n": "a:1-3"},
        {"long": (50, "", "a:3"), "short": (5, "", "a:1"), "other": (9, "", "b:1")},
    )
    limits: dict[str, Any] = {"level_limit": 3}
    assert [r.roles for r in find_routes(company, START, "t", **limits).trade_off] == [("n", "t"), ("t",)]
    result = find_routes(company, START, "t", via="m", **limits)
    assert [(r.roles, r.study_hours) for r in result.trade_off] == [
        (("m", "n", "t"), 14),
        (("n", "m", "t"), 14),
        (("m", "t"), 59),
    ]
    assert result.other_routes == ()
    assert result.lower_bound == 14
    assert result.direct.roles == ("t",)


def test_a_way_point_without_study_is_optimal_not_nothing_to_do() -> None:
    company = build_company({"t": "a:1", "m": "a:1"}, {})
    held = Profile({"a": 1})
    assert find_routes(company, held, "t").status == "nothing-to-do"
    result = find_routes(company, held, "t", via="m")
    assert (result.status, result.lower_bound, [r.roles for r in result.trade_off]) == ("optimal", 0, [("m", "t")])


def test_avoided_roles_are_not_moved_into() -> None:
    company = build_company({"t": "a:3", "m": "a:1-3", "n": "a:1-3"}, {"x": (5, "", "a:1")})
    result = find_routes(company, START, "t", avoid=["m"])
    assert [r.roles for r in (*result.trade_off, *result.other_routes)] == [("n", "t")]
    assert find_routes(company, START, "t", avoid=["m", "n"]).status == "unreachable"
    # who is in a role need not move into it
    assert find_routes(company, Profile({}, role="m"), "t", avoid=["m"]).status == "optimal"


def test_hours_a_week_replace_those_of_the_profile() -> None:
    company = build_company({"t": "a:1"}, {"x": (26, "", "a:1")})
    for profile in (START, Profile({}, study_hours_per_week=0.0)):
        result = find_routes(company, profile, "t", study_hours_per_week=13)
        assert result.best.months is not None
        assert (result.best.months.months, result.direct.months) == (pytest.approx(24 / 52),) * 2
        assert result.remarks == ()


def test_questions_that_contradict_themselves_are_refused() -> None:
    company = build_company({"t": "a:1", "m": "a:1", "now": "b:1", "bare": ""}, {})
    wrong: list[dict[str, Any]] = [
        {"avoid": ["t"]},
        {"via": "t"},
        {"via": "now"},
        {"via": "bare"},
        {"via": "m", "avoid": ["m"]},
        {"study_hours_per_week": 0.0},
        {"study_hours_per_week": math.nan},
        {"study_hours_per_week": math.inf},
    ]
    for asked in wrong:
        with pytest.raises(InputError):
            find_routes(company, START, "t", **asked)
    for asked in ({"avoid": ["nobody"]}, {"via": "nobody"}):
        with pytest.raises(UnknownIdError):
            find_routes(company, START, "t", **asked)


def test_sequences_there_is_no_room_for_leave_a_true_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    steps = {f"m{n}": "a:1-3" for n in range(8)}
    company = build_company({"t": "a:3"} | steps, {"x": (5, "", "a:1")})
    monkeypatch.setattr("ontology.analysis.routes.route_search._ROWS_KEPT", 2)
    result = find_routes(company, START, "t", max_moves=2)
    assert (result.status, result.lower_bound) == ("feasible", 5)
    assert result.best.study_hours is not None
    assert result.best.study_hours.study_hours == 5


def test_a_route_no_cheaper_than_one_that_leaves_out_a_role_is_not_listed() -> None:
    company, profile = build_route_company(22)
    learner = Learner(profile.levels, profile.renewable, profile.role, profile.study_hours_per_week)
    legal = find_legal_routes(company, learner, "r0", 3, 8.0, 1)
    shorter = min(legal[rival] for rival in (("r4", "r0"), ("r1", "r0"), ("r0",)) if rival in legal)
    assert legal["r4", "r1", "r0"] >= shorter
    result = find_routes(company, profile, "r0", preparation_limit=8.0, level_limit=1)
    listed = (*result.trade_off, *result.other_routes)
    assert ("r4", "r1", "r0") not in [route.roles for route in listed]


def test_listing_can_stop_after_any_beginning_even_where_none_leads_to_the_target() -> None:
    company = build_company({"t": "a:3", "m": "b:1", "n": "b:1"}, {})
    costs = RouteCosts(company, Profile({"b": 1}), preparation_limit=200, level_limit=2, deadline=Deadline(None))
    batches = list(costs.build_outlook(("m", "n", "t")).iterate(3, None))
    assert [(batch.beginning, batch.lasts.size) for batch in batches] == [((0,), 0), ((1,), 0)]
