"""Closure, estimates, orders and pictures of delete-free problems."""

from __future__ import annotations

import networkx as nx
import pytest
from effort import draws
from hypothesis import given, settings
from relaxed_cases import build_problem, find_best_by_trying, problems

from ontology.analysis.engine.estimates import compute_h_add, compute_h_max
from ontology.analysis.engine.relaxed import (
    RelaxedProblem,
    SideRow,
    build_learning_graph,
    find_applicable_order,
    find_closure,
    find_relevant_operators,
    remove_redundant,
)


def test_operators_that_condition_each_other_reach_nothing() -> None:
    problem = build_problem("", "B", ["A>B", "B>A"])
    assert find_closure(problem, [0, 1]) == frozenset()


def test_free_operators_are_applied_without_being_chosen() -> None:
    carried = RelaxedProblem(
        fact_count=3,
        operator_ids=("course", "carry"),
        conditions=(frozenset(), frozenset({0})),
        effects=(frozenset({0}), frozenset({1})),
        aims=((1, 0),),
        initial=frozenset(),
        goals=frozenset({1}),
        is_free=(False, True),
    )
    assert find_closure(carried, [0]) == {0, 1}
    assert find_closure(carried, []) == frozenset()
    assert find_applicable_order(carried, [0, 1]) == [0]


def test_order_goes_round_by_round_and_by_id_within_a_round() -> None:
    problem = build_problem("A", "E", ["D>E", "B,C>D", "A>C", "A>B"])
    ids = [problem.operator_ids[index] for index in find_applicable_order(problem, range(4))]
    assert ids == ["A>B", "A>C", "B,C>D", "D>E"]


def test_order_within_a_round_is_that_of_ids_not_of_the_data() -> None:
    problem = build_problem("A", "C", ["A>C", "A>B", "A>D"])
    assert find_applicable_order(problem, range(3)) == [1, 0, 2]


def test_order_leaves_out_what_can_never_be_applied() -> None:
    problem = build_problem("A", "B", ["A>B", "X>Y"])
    assert find_applicable_order(problem, [1, 0]) == [0]


def test_redundant_operators_go_dearest_first() -> None:
    problem = build_problem("A", "B", ["A>B", "A>B,C", "A>C"], [2, 5, 1])
    assert remove_redundant(problem, [0, 1, 2]) == [0]


def test_relevant_operators_are_reachable_and_serve_a_goal() -> None:
    problem = build_problem("A", "C", ["A>B", "B>C", "A>D", "X>C", "C>A"])
    assert find_relevant_operators(problem) == [0, 1]


def test_learning_graph_is_bipartite_and_says_what_is_what() -> None:
    graph = build_learning_graph(build_problem("A", "C", ["A>B", "B>C"]))
    assert nx.is_bipartite(graph)
    assert nx.shortest_path(graph, ("fact", 0), ("fact", 2)) == [
        ("fact", 0),
        ("operator", "A>B"),
        ("fact", 1),
        ("operator", "B>C"),
        ("fact", 2),
    ]
    assert graph.nodes["fact", 2] == {"kind": "fact", "is_initial": False, "is_goal": True}
    assert graph.nodes["operator", "A>B"] == {"kind": "operator", "is_free": False, "aims": (1,)}


@settings(max_examples=draws(150), deadline=None)
@given(problems(has_side_rows=False))
def test_estimates_enclose_the_least_cost(problem: RelaxedProblem) -> None:
    reachable = find_closure(problem, problem.paid_operators)
    best = find_best_by_trying(problem)
    assert best is not None
    if problem.goals <= reachable:
        assert compute_h_max(problem) <= best[0][0] <= compute_h_add(problem)
    else:
        assert compute_h_max(problem) == compute_h_add(problem) == float("inf")


@settings(max_examples=draws(100), deadline=None)
@given(problems())
def test_order_and_pruning_keep_what_is_reached(problem: RelaxedProblem) -> None:
    everything = find_closure(problem, problem.paid_operators)
    order = find_applicable_order(problem, problem.paid_operators)
    for position, operator in enumerate(order):
        assert problem.conditions[operator] <= find_closure(problem, order[:position])
    kept = remove_redundant(problem, order)
    goals = problem.goals & everything
    assert goals <= find_closure(problem, kept)
    for operator in kept:
        assert not goals <= find_closure(problem, [other for other in kept if other != operator])


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"operator_ids": ("a", "a")}, "ids must differ"),
        ({"aims": ()}, "one aim at least"),
        ({"aims": ((1,),)}, "must have length 2"),
        ({"aims": ((1, -1),)}, "at least 0"),
        ({"goals": frozenset({9})}, "outside"),
        ({"goals": frozenset({2})}, "outside"),
        ({"initial": frozenset({-1})}, "outside"),
        ({"side_rows": (SideRow(((5, 1),), 1),)}, "does not exist"),
        ({"side_rows": (SideRow(((0, -1),), 1),)}, "at least 0"),
        ({"side_rows": (SideRow(((1, 1),), 1),), "is_free": (False, True)}, "no free operators"),
    ],
)
def test_wrong_problem_is_refused(change: dict[str, object], complaint: str) -> None:
    fields: dict[str, object] = {
        "fact_count": 2,
        "operator_ids": ("a", "b"),
        "conditions": (frozenset(), frozenset()),
        "effects": (frozenset({0}), frozenset({1})),
        "aims": ((1, 1),),
        "initial": frozenset(),
        "goals": frozenset({1}),
    }
    with pytest.raises(ValueError, match=complaint):
        RelaxedProblem(**(fields | change))  # type: ignore[arg-type]


def test_one_estimate_adds_the_conditions_up_and_the_other_takes_the_dearest() -> None:
    problem = build_problem("", "C,D", [">A", ">B", "A,B>C", "A>D"], [2, 3, 4, 1])
    assert compute_h_add(problem) == (2 + 3 + 4) + (2 + 1)
    assert compute_h_max(problem) == max(3 + 4, 2 + 1)
