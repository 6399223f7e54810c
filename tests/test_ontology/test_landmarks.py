"""The cheapest plan is the cheapest: against trying every set, with every tie-break."""

from __future__ import annotations

import dataclasses
import random

import pytest
from catalogues import build_catalogue
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from ordering_milp import solve_ordering_milp
from relaxed_cases import build_problem, find_best_by_trying, problems

from ontology.analysis.engine.landmarks import PlanResult, solve_cheapest_plan
from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow, find_applicable_order, find_closure


def require_sound(problem: RelaxedProblem, result: PlanResult) -> None:
    """Check an answer against the problem alone: goals, order, no superfluous operator, totals, rows, bound."""
    reachable = find_closure(problem, problem.paid_operators)
    goals = problem.goals & reachable
    assert set(result.unreachable) == problem.goals - reachable
    assert goals <= find_closure(problem, result.operators)
    assert list(result.operators) == find_applicable_order(problem, result.operators)
    for operator in result.operators:
        rest = [other for other in result.operators if other != operator]
        assert not goals <= find_closure(problem, rest)
    assert result.totals == tuple(sum(aim[operator] for operator in result.operators) for aim in problem.aims)
    for row in problem.side_rows:
        assert sum(value for operator, value in row.coefficients if operator in result.operators) <= row.upper_bound
    assert result.lower_bound <= result.totals[0]


@settings(max_examples=draws(400), deadline=None)
@given(problems())
def test_plan_is_the_best_of_all_sets_with_all_tie_breaks(problem: RelaxedProblem) -> None:
    result = solve_cheapest_plan(problem)
    expected = find_best_by_trying(problem)
    assert result.is_proved
    if expected is None:
        assert (result.status, result.operators) == ("infeasible", ())
        return
    require_sound(problem, result)
    assert (result.totals, tuple(sorted(result.operator_ids))) == expected
    assert result.lower_bound == result.totals[0]
    if result.unreachable:
        assert result.status == "unreachable"
    else:
        is_idle = problem.goals <= find_closure(problem, ())
        assert result.status == ("nothing-to-do" if is_idle else "optimal")


@settings(max_examples=draws(60), deadline=None)
@given(problems(), st.randoms(use_true_random=False))
def test_order_of_operators_does_not_matter(problem: RelaxedProblem, rng: random.Random) -> None:
    order = list(range(len(problem.operator_ids)))
    rng.shuffle(order)
    place = {index: position for position, index in enumerate(order)}
    shuffled = dataclasses.replace(
        problem,
        operator_ids=tuple(problem.operator_ids[index] for index in order),
        conditions=tuple(problem.conditions[index] for index in order),
        effects=tuple(problem.effects[index] for index in order),
        aims=tuple(tuple(aim[index] for index in order) for aim in problem.aims),
        is_free=tuple(problem.is_free[index] for index in order),
        side_rows=tuple(
            SideRow(tuple((place[index], value) for index, value in row.coefficients), row.upper_bound)
            for row in problem.side_rows
        ),
    )
    first, second = solve_cheapest_plan(problem), solve_cheapest_plan(shuffled)
    assert first.operator_ids == second.operator_ids
    assert (first.status, first.totals, first.lower_bound) == (second.status, second.totals, second.lower_bound)


def test_operators_that_condition_each_other_do_not_support_a_plan() -> None:
    problem = build_problem("", "B", ["A>B", "B>A", ">A"], [1, 1, 50])
    assert solve_cheapest_plan(problem).totals == (51,)


def test_a_longer_circle_does_not_support_a_plan() -> None:
    circle = [f"F{(k + 1) % 6}>F{k}" for k in range(6)]
    problem = build_problem("", "F0,F3", [*circle, ">F2", ">F5"], [1] * 6 + [30, 40])
    # One way in is enough: F2 gives F1 and F0; F3 takes going on round the circle, five steps in all.
    assert solve_cheapest_plan(problem).totals == (35,)


def test_shared_operator_is_paid_once() -> None:
    problem = build_problem("", "B,C", [">A", "A>B", "A>C", ">B", ">C"], [6, 1, 1, 5, 5])
    result = solve_cheapest_plan(problem)
    assert result.totals == (8,)
    assert result.operator_ids[0] == ">A"


def test_a_plan_one_above_the_bound_is_not_taken_for_the_best() -> None:
    # Alone each goal is cheaper by its own way (5 against 8), so the first plan found costs 10; together they cost 9.
    problem = build_problem("", "B,C", [">A", "A>B", "A>C", ">B", ">C"], [7, 1, 1, 5, 5])
    result = solve_cheapest_plan(problem)
    assert (result.totals, result.lower_bound, result.is_proved) == ((9,), 9, True)


def test_free_operators_with_several_conditions_are_no_way_round_them() -> None:
    problem = dataclasses.replace(
        build_problem("", "C", [">A", ">B", "A,B>C", ">C"], [2, 3, 0, 9]), is_free=(False, False, True, False)
    )
    result = solve_cheapest_plan(problem)
    assert (result.totals, result.operator_ids) == ((5,), (">A", ">B"))


def test_side_row_forces_the_dearer_way() -> None:
    problem = build_problem("", "A", [">A", ">A,B"], [1, 7])
    within = dataclasses.replace(problem, side_rows=(SideRow(((0, 5),), 4),))
    assert solve_cheapest_plan(within).operator_ids == (">A,B",)
    never = dataclasses.replace(problem, side_rows=(SideRow(((0, 5), (1, 5)), 4),))
    result = solve_cheapest_plan(never)
    assert (result.status, result.is_proved) == ("infeasible", True)


def test_unreachable_goals_are_named_and_the_rest_is_planned() -> None:
    result = solve_cheapest_plan(build_problem("", "A,Z", [">A", "X>Z"]))
    assert (result.status, result.operator_ids, result.is_proved) == ("unreachable", (">A",), True)
    assert result.unreachable == (2,)


def test_later_aims_and_ids_break_ties_in_order() -> None:
    same = build_problem("", "A", [">A", ">A,B", ">A,C"], [5, 5, 5])
    assert solve_cheapest_plan(same).operator_ids == (">A",)
    by_money = dataclasses.replace(same, aims=((5, 5, 5), (3, 2, 2)))
    assert solve_cheapest_plan(by_money).operator_ids == (">A,B",)
    first_only = solve_cheapest_plan(by_money, lexicographic=False)
    assert first_only.totals[0] == 5


def test_many_ties_are_broken_by_id() -> None:
    # Ten facts, four equal courses each: 4**10 best plans, told apart by id alone.
    rng = random.Random(5)
    names = [f"{rng.randrange(10**6):06d}-{fact}-{k}" for fact in range(10) for k in range(4)]
    problem = RelaxedProblem(
        fact_count=20,
        operator_ids=tuple(names),
        conditions=(frozenset(),) * 40,
        effects=tuple(frozenset({index // 4, 10 + index % 4}) for index in range(40)),
        aims=((7,) * 40, (1,) * 40),
        initial=frozenset(),
        goals=frozenset(range(13)),
    )
    result = solve_cheapest_plan(problem)
    require_sound(problem, result)
    assert result.totals == (70, 10)
    assert sorted(result.operator_ids) == sorted(find_smallest_ids(names))


def find_smallest_ids(names: list[str]) -> list[str]:
    """Return the smallest sorted ids of one course per fact that cover the kinds 0, 1 and 2, by trying all kinds."""
    best: list[str] | None = None
    layers: dict[int, list[str]] = {0: []}
    for fact in range(10):
        fresh: dict[int, list[str]] = {}
        for kinds, chosen in layers.items():
            for k in range(4):
                mask = kinds | (1 << k)
                candidate = sorted([*chosen, names[4 * fact + k]])
                # Replacing a part by one with smaller ids (equal size, disjoint facts) makes the whole smaller.
                if mask not in fresh or candidate < fresh[mask]:
                    fresh[mask] = candidate
        layers = fresh
    for kinds, chosen in layers.items():
        if kinds & 7 == 7 and (best is None or chosen < best):
            best = chosen
    assert best is not None
    return best


@pytest.mark.parametrize("seed", range(4))
def test_time_limit_leaves_a_plan_and_a_valid_bound(seed: int) -> None:
    problem = build_catalogue(300, 8, seed)
    proved = solve_cheapest_plan(problem, lexicographic=False)
    hurried = solve_cheapest_plan(problem, time_limit_s=0.0)
    assert proved.is_proved
    require_sound(problem, proved)
    require_sound(problem, hurried)
    assert hurried.lower_bound <= proved.totals[0] <= hurried.totals[0]
    assert hurried.status == ("optimal" if hurried.is_proved else "feasible")


def test_time_limit_before_any_plan_within_side_rows_is_told() -> None:
    problem = build_catalogue(300, 8, 0)
    loads = tuple((index, minutes) for index, minutes in enumerate(problem.aims[0]))
    cheapest = solve_cheapest_plan(problem, lexicographic=False).totals[0]
    tight = dataclasses.replace(problem, side_rows=(SideRow(loads, cheapest),))
    hurried = solve_cheapest_plan(tight, time_limit_s=0.0)
    assert (hurried.status, hurried.operators, hurried.is_proved) == ("unknown", (), False)
    assert hurried.lower_bound <= cheapest
    impossible = dataclasses.replace(problem, side_rows=(SideRow(loads, cheapest - 1),))
    assert solve_cheapest_plan(impossible).status == "infeasible"


@pytest.mark.parametrize("seed", range(3))
def test_large_catalogue_is_proved(seed: int) -> None:
    problem = build_catalogue(1800, 15, seed)
    result = solve_cheapest_plan(problem)
    assert (result.status, result.is_proved) == ("optimal", True)
    require_sound(problem, result)


@pytest.mark.parametrize("seed", range(12))
def test_fewest_courses_of_a_small_catalogue_equal_the_ordering_program(seed: int) -> None:
    # the bound of the linear program is often whole here before the best plan is found: rounding it up too far shows
    catalogue = build_catalogue(30, 5, seed, competency_count=8)
    problem = dataclasses.replace(catalogue, aims=((1,) * len(catalogue.operator_ids),))
    result = solve_cheapest_plan(problem, lexicographic=False)
    require_sound(problem, result)
    assert result.totals[0] == result.lower_bound == solve_ordering_milp(problem).objective


def test_of_equal_plans_the_one_with_fewer_courses_goes_before_smaller_ids_but_never_before_cost() -> None:
    names = [">A", ">B", ">A,B"]
    assert solve_cheapest_plan(build_problem("", "A,B", names, [2, 2, 4])).operator_ids == (">A,B",)
    assert solve_cheapest_plan(build_problem("", "A,B", names, [2, 2, 5])).operator_ids == (">A", ">B")
