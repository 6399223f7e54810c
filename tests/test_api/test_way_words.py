"""Which ways stand side by side and what is said of them."""

from __future__ import annotations

import dataclasses

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from api.desk.names import Names
from api.pages.way_cards import choose_ways, list_ways, name_way
from api.pages.way_words import tell_broken, tell_lead, tell_months, tell_proof, tell_reason
from ontology.analysis.routes.moves import BrokenLimit
from ontology.analysis.routes.route_results import BestRoutes, DirectMove, Route, RouteMove, RoutesResult

NAMES = Names(
    build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b"),
        roles=[{"id": i, "label": i.upper()} for i in ("m", "n", "o", "t")],
    )
)
OVER = BrokenLimit("preparation", None, 200, 378)
UP = tuple(BrokenLimit("level", i, 2, 3) for i in ("a", "b"))


def make_way(roles: str, hours: float, months: float | None, first: float | None = None) -> Route:
    share = hours / len(roles) if first is None else first
    moves = [RouteMove(role, role.upper(), share, months, ("x",)) for role in roles]
    return Route(tuple(roles), hours, months, 0.0, tuple(moves))


def make_direct(hours: float | None = 378, broken: tuple[BrokenLimit, ...] = (OVER,)) -> DirectMove:
    is_within = hours is not None and not broken
    return DirectMove(("t",), hours, 14.5, 0.0, (RouteMove("t", "T", hours, 14.5, ()),), is_within, broken, ())


def make_result(
    hours: Route | None, months: Route | None, moves: Route | None, *others: Route, direct: DirectMove | None = None
) -> RoutesResult:
    status = "unreachable" if hours is None else "optimal"
    return RoutesResult(
        "t", status, None, BestRoutes(hours, months, moves), (), others, make_direct() if direct is None else direct
    )


CHEAP, QUICK, FEW = make_way("mnt", 200, 40), make_way("not", 300, 20), make_way("ot", 400, 30)
NEXT = make_way("mot", 250, 50)


def test_one_card_says_all_that_a_way_is_best_in_and_the_direct_one_is_last() -> None:
    cards = choose_ways(make_result(CHEAP, CHEAP, CHEAP, QUICK, NEXT))
    assert [card.key for card in cards] == ["m.n", "m.o", "directly"]
    assert cards[0].best_in == ("least hours", "least months", "fewest moves")
    assert cards[-1].is_direct


def test_the_best_by_each_aim_go_before_the_next_by_hours() -> None:
    cards = choose_ways(make_result(CHEAP, QUICK, FEW, NEXT))
    assert [card.best_in for card in cards] == [("least hours",), ("least months",), ()]
    assert [way.key for way in list_ways(make_result(CHEAP, QUICK, FEW, NEXT))] == [
        "m.n",
        "n.o",
        "o",
        "m.o",
        "directly",
    ]


def test_a_best_way_of_one_move_is_the_direct_card_and_stands_once() -> None:
    one = make_way("t", 90, 4)
    cards = choose_ways(make_result(one, one, one, CHEAP, direct=make_direct(90, ())))
    assert [(card.key, card.is_direct) for card in cards] == [("m.n", False), ("directly", True)]
    assert cards[-1].best_in == ("least hours", "least months", "fewest moves")


def test_a_way_that_was_kept_stands_first_while_it_is_among_them() -> None:
    result = make_result(CHEAP, CHEAP, CHEAP, QUICK, NEXT)
    assert [card.key for card in choose_ways(result, "n.o")] == ["n.o", "m.n", "directly"]
    assert [card.key for card in choose_ways(result, "gone")] == ["m.n", "m.o", "directly"]


def test_ways_are_named_by_the_roles_they_go_through() -> None:
    assert [name_way(route, NAMES) for route in (CHEAP, FEW, make_direct())] == [
        "Through M and N",
        "Through O",
        "Directly",
    ]


@pytest.mark.parametrize(
    ("result", "said"),
    [
        (
            make_result(FEW, FEW, FEW),
            "Through O it takes 400 hours of study and at least 30.0 months. Going directly takes 378 hours before the "
            "first day, and 200 is the limit.",
        ),
        (
            make_result(CHEAP, CHEAP, CHEAP, direct=make_direct(150, UP)),
            "Through M and N it takes 200 hours of study and at least 40.0 months. Going directly takes 150 hours "
            "before the first day and is out of reach: two competencies are 3 levels up, at most 2.",
        ),
        (
            make_result(CHEAP, CHEAP, CHEAP, direct=make_direct(None, ())),
            "Through M and N it takes 200 hours of study and at least 40.0 months. No courses lead there directly.",
        ),
        (
            make_result(*[make_way("t", 90, None)] * 3, direct=make_direct(90, ())),
            "Going directly takes 90 hours of study; no other way takes fewer hours.",
        ),
        (make_result(None, None, None), "No way leads there within these limits."),
    ],
)
def test_the_first_sentence_is_the_best_way_and_why_not_directly(result: RoutesResult, said: str) -> None:
    assert tell_lead(result, NAMES) == said


def test_the_first_sentence_of_a_search_cut_short_claims_nothing() -> None:
    cut = dataclasses.replace(make_result(None, None, None), status="feasible")
    assert tell_lead(cut, NAMES) == "Time was over before a way was found; nothing proves that there is none."
    assert tell_proof(cut) == ""
    short = dataclasses.replace(make_result(CHEAP, CHEAP, CHEAP), status="feasible", lower_bound=180.0)
    assert tell_proof(short) == "Best found in the time allowed, at least 180 h."
    assert tell_proof(make_result(CHEAP, CHEAP, CHEAP)) == "Proved: nothing cheaper among these courses."


def test_nothing_to_do_is_said_so() -> None:
    one = make_way("t", 0, 0)
    result = dataclasses.replace(make_result(one, one, one, direct=make_direct(0, ())), status="nothing-to-do")
    assert tell_lead(result, NAMES) == "The first day as T asks nothing that is not held already."


def test_each_card_says_why_it_is_shown() -> None:
    other = make_way("mot", 250.5, 38.5, first=20)
    result = make_result(CHEAP, CHEAP, CHEAP, other)
    first, second, direct = choose_ways(result)
    said = [tell_reason(result, way, first, NAMES) for way in (first, second, direct)]
    assert said == [
        ("Least hours, least months, fewest moves.", "Each move is within reach."),
        ("", "50.5 h more and 1.5 months shorter, but the first move needs only 20 h."),
        ("Out of reach:", "378 h before the move, at most 200."),
    ]
    near = make_result(CHEAP, CHEAP, CHEAP, direct=make_direct(90, ()))
    assert tell_reason(near, choose_ways(near)[-1], first, NAMES) == ("", "One move, within reach.")


def test_limits_are_told_in_words_and_levels_together() -> None:
    assert tell_broken(make_direct(378, (OVER, *UP)), NAMES) == (
        "378 h before the move, at most 200; two competencies are 3 levels up, at most 2"
    )
    assert tell_broken(make_direct(9, UP[:1]), NAMES) == "A is 3 levels up, at most 2"


def test_months_have_one_decimal_or_are_a_dash() -> None:
    assert [tell_months(months) for months in (None, 3, 26.94)] == ["–", "3.0", "26.9"]
