"""Numbers from outside for the cheapest plan: planning heuristics, set cover, and a peer model.

Sources beside each check.
"""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from catalogues import build_catalogue
from ordering_milp import solve_ordering_milp
from relaxed_cases import build_problem

from ontology.analysis.engine.estimates import compute_h_add, compute_h_max
from ontology.analysis.engine.landmarks import solve_cheapest_plan
from ontology.analysis.engine.relaxed import RelaxedProblem, find_closure


@pytest.mark.parametrize(
    ("start", "goal", "operators", "h_add", "h_max", "h_plus"),
    [
        # Unit costs; h_add and h_max as in the heuristic tests of pyperplan (facts only); h+ by trying every set.
        ("A", "B,C", ["A>B", "B>C", "B>A"], 3, 2, 2),
        ("A", "E,F", ["A>B,C,D,E", "C>F"], 3, 2, 2),
    ],
)
def test_published_heuristic_values(
    start: str, goal: str, operators: list[str], h_add: int, h_max: int, h_plus: int
) -> None:
    problem = build_problem(start, goal, operators)
    assert compute_h_add(problem) == h_add
    assert compute_h_max(problem) == h_max
    assert solve_cheapest_plan(problem).totals == (h_plus,)


def build_cover(sets: dict[str, set[int]], costs: dict[str, int]) -> RelaxedProblem:
    """Return set cover as a problem without conditions."""
    universe = sorted(set().union(*sets.values()))
    number = {element: index for index, element in enumerate(universe)}
    names = sorted(sets)
    return RelaxedProblem(
        fact_count=len(universe),
        operator_ids=tuple(names),
        conditions=(frozenset(),) * len(names),
        effects=tuple(frozenset(number[element] for element in sets[name]) for name in names),
        aims=(tuple(costs[name] for name in names),),
        initial=frozenset(),
        goals=frozenset(number.values()),
    )


def get_greedy_cost(sets: dict[str, set[int]], costs: dict[str, int]) -> int:
    """Return the cost of the greedy cover: least cost per new element, smallest name first."""
    missing = set().union(*sets.values())
    total = 0
    while missing:
        name = min(
            (n for n in sorted(sets) if sets[n] & missing),
            key=lambda n: Fraction(costs[n], len(sets[n] & missing)),
        )
        total += costs[name]
        missing -= sets[name]
    return total


def test_set_cover_of_the_algorithms_textbook() -> None:
    # Cormen, Leiserson, Rivest & Stein, Introduction to Algorithms, 3rd edition, figure 35.3 (encoding from memory):
    # optimum 3 (S3, S4, S5), greedy 4.
    sets = {
        "S1": {1, 2, 3, 4, 5, 6},
        "S2": {5, 6, 8, 9},
        "S3": {1, 4, 7, 10},
        "S4": {2, 5, 7, 8, 11},
        "S5": {3, 6, 9, 12},
        "S6": {10, 11},
    }
    costs = dict.fromkeys(sets, 1)
    result = solve_cheapest_plan(build_cover(sets, costs))
    assert (result.totals, result.operator_ids) == ((3,), ("S3", "S4", "S5"))
    assert get_greedy_cost(sets, costs) == 4


@pytest.mark.parametrize(("size", "greedy"), [(5, 2.28333), (4, 2.08333), (6, 2.45)])
def test_greedy_trap_of_chvatal(size: int, greedy: float) -> None:
    # Chvatal 1979, Mathematics of Operations Research 4 (from memory): singletons {i} at 1/i, the full set at 1 + e;
    # greedy pays the harmonic number, the optimum is 1 + e. In units of 1/60000, e = 1/1000.
    unit = 60_000
    sets = {f"single-{i}": {i} for i in range(1, size + 1)} | {"all": set(range(1, size + 1))}
    costs = {f"single-{i}": unit // i for i in range(1, size + 1)} | {"all": unit + unit // 1000}
    assert solve_cheapest_plan(build_cover(sets, costs)).totals == (unit + unit // 1000,)
    assert get_greedy_cost(sets, costs) / unit == pytest.approx(greedy, abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_catalogues_cost_the_same_by_the_ordering_model(seed: int) -> None:
    # Time-stamped model after Imai & Fukunaga 2015, Journal of Artificial Intelligence Research 54.
    problem = build_catalogue(40, 4, seed)
    ours = solve_cheapest_plan(problem)
    peer = solve_ordering_milp(problem, time_limit_s=20)
    assert peer.lower_bound <= ours.totals[0] <= peer.objective
    assert compute_h_max(problem) <= ours.totals[0] <= compute_h_add(problem)
    if peer.status == "optimal":
        assert ours.totals[0] == peer.objective


@pytest.mark.parametrize("seed", range(30))
def test_tangles_cost_the_same_by_the_ordering_model(seed: int) -> None:
    """Conditions in circles, free operators with several conditions, costs of zero; 20 operators."""
    rng = random.Random(seed)
    count, facts = 20, 12
    free = tuple(rng.random() < 0.15 for _ in range(count))
    problem = RelaxedProblem(
        fact_count=facts,
        operator_ids=tuple(f"o{index:02d}" for index in range(count)),
        conditions=tuple(frozenset(rng.sample(range(facts), rng.choice((0, 1, 2, 2, 3)))) for _ in range(count)),
        effects=tuple(frozenset(rng.sample(range(facts), rng.choice((1, 2, 3)))) for _ in range(count)),
        aims=(tuple(0 if is_free else rng.randint(0, 30) for is_free in free),),
        initial=frozenset(),
        goals=frozenset(rng.sample(range(facts), 5)),
        is_free=free,
    )
    ours = solve_cheapest_plan(problem)
    if problem.goals <= find_closure(problem, problem.paid_operators):
        assert solve_ordering_milp(problem).objective == ours.totals[0]
    else:
        assert ours.status == "unreachable"
