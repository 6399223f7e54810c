"""The order of routes: each aim with its tie-breaks, the trade-off, and what may still come to be listed."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.route_bounds import RouteCosts
from ontology.analysis.routes.route_ranking import Candidate, Ranking, build_candidate


def route(roles: str, minutes: int, months: float) -> Candidate:
    return Candidate(tuple(roles.split()), minutes, months if months == math.inf else Fraction(months))


def rank(*candidates: Candidate, rest_limit: int = 20) -> Ranking:
    ranking = Ranking(rest_limit)
    for candidate in candidates:
        ranking.add(candidate)
    return ranking


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (route("z m n t", 5, 9), route("t", 6, 1)),
        (route("z m t", 5, 8), route("t", 5, 9)),
        (route("z t", 5, 8), route("a b t", 5, 8)),
        (route("a t", 5, 8), route("b t", 5, 8)),
    ],
)
def test_best_by_hours_is_settled_by_months_then_moves_then_ids(better: Candidate, worse: Candidate) -> None:
    assert rank(worse, better).get_best()[0] == rank(better, worse).get_best()[0] == better


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (route("z m n t", 9, 5), route("t", 1, 6)),
        (route("z m t", 8, 5), route("t", 9, 5)),
        (route("z t", 8, 5), route("a b t", 8, 5)),
        (route("a t", 8, 5), route("b t", 8, 5)),
        (route("z t", 8, 5), route("a t", 8, math.inf)),
    ],
)
def test_best_by_months_is_settled_by_hours_then_moves_then_ids(better: Candidate, worse: Candidate) -> None:
    assert rank(worse, better).get_best()[1] == rank(better, worse).get_best()[1] == better


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (route("z t", 9, 9), route("a b t", 1, 1)),
        (route("z t", 8, 9), route("a t", 9, 1)),
        (route("z t", 8, 5), route("a t", 8, 6)),
        (route("a t", 8, 5), route("b t", 8, 5)),
    ],
)
def test_best_by_moves_is_settled_by_hours_then_months_then_ids(better: Candidate, worse: Candidate) -> None:
    assert rank(worse, better).get_best()[2] == rank(better, worse).get_best()[2] == better


def test_trade_off_holds_what_no_other_beats_and_equals_stand_together() -> None:
    cheap, twin, quick = route("a t", 5, 9), route("b t", 5, 9), route("t", 9, 1)
    beaten = [route("c t", 5, 10), route("d t", 6, 9), route("e t", 9, 2)]
    assert rank(*beaten, quick, twin, cheap).get_trade_off() == [cheap, twin, quick]
    assert [c.is_beaten_by(other) for c, other in ((beaten[1], cheap), (twin, cheap), (quick, cheap))] == [True, 0, 0]


def test_rest_leaves_out_who_is_best_by_any_aim_or_in_the_trade_off() -> None:
    cheap, quick, short = route("a b t", 5, 5), route("c d t", 6, 4), route("t", 9, 9)
    rest = [route("e f t", 6, 6), route("g t", 9, 9), route("h t", 9, 10)]
    assert rank(*reversed(rest), cheap, quick, short).get_rest() == rest


def test_a_route_may_be_listed_while_there_is_room_or_where_it_is_ahead_of_the_last() -> None:
    best, rest = route("t", 1, 1), [route("a t", 5, 5), route("b t", 6, 6)]
    ranking = rank(best, *rest, rest_limit=2)
    assert ranking.can_be_listed(route("b t", 6, 5))
    assert not ranking.can_be_listed(route("c t", 6, 6))
    assert rank(best, *rest, rest_limit=3).can_be_listed(route("c t", 99, 99))
    assert ranking.can_be_listed(route("c d t", 1, 1)), "it may stand beside the best in the trade-off"
    long = rank(route("a b t", 1, 1), *rest, rest_limit=2)
    assert long.can_be_listed(route("t", 99, 99)), "it would be the best by moves"


def test_months_are_those_of_study_and_of_every_role_but_the_last() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a"),
        roles=[{"id": role, "label": role, "months_to_full": n} for role, n in (("m", 6), ("n", 9), ("t", 24))],
        requirements=[{"role": role, "competency": "a", "level": 1} for role in "mnt"],
    )

    def build(pace: float, minutes: int) -> Candidate:
        profile = Profile({}, study_hours_per_week=pace)
        deadline = Deadline(None)
        costs = RouteCosts(company, profile, preparation_limit=math.inf, level_limit=2, deadline=deadline)
        return build_candidate(costs, ("m", "n", "t"), minutes)

    assert build(4.0, 52 * 60).months == 6 + 9 + 3
    assert build(0.0, 0).months == 15
    assert build(0.0, 1).months == math.inf
