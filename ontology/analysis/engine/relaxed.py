"""Delete-free planning problems: facts that are never lost, operators that need all conditions and give all effects.

Abstract: a fact may be a competency at a level, an operator a course, but nothing here knows that.
May import networkx. The words are those of planning (conditions, effects, goals); as a directed hypergraph see Gallo,
Longo, Pallottino & Nguyen 1993, Discrete Applied Mathematics 42.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

__all__ = [
    "RelaxedProblem",
    "SideRow",
    "build_learning_graph",
    "find_applicable_order",
    "find_closure",
    "find_relevant_operators",
    "remove_redundant",
]


@dataclass(frozen=True)
class SideRow:
    """A limit on the chosen operators: sum of coefficient over chosen operators <= upper_bound.

    Attributes
    ----------
    coefficients : tuple of (operator, coefficient)
        Operator indices, each at most once, with integer coefficients >= 0.
    upper_bound : int
    """

    coefficients: tuple[tuple[int, int], ...]
    upper_bound: int


@dataclass(frozen=True)
class RelaxedProblem:
    """Choose operators so that all goals are reached and nothing is ever lost.

    Attributes
    ----------
    fact_count : int
        Facts are 0 .. fact_count - 1.
    operator_ids : tuple of str, length m
        Different ids; they break ties.
    conditions, effects : tuple of frozenset of int, length m
        Facts an operator needs (all of them) and gives (all of them).
    aims : tuple of tuple of int
        Cost vectors in the order in which they matter, each of length m, integers >= 0. At least one.
    initial, goals : frozenset of int
    is_free : tuple of bool, length m, or empty
        Free operators cost nothing, are always applied and never count as chosen. Empty: none is free.
    side_rows : tuple of SideRow
        Limits on the chosen operators; they may not name free operators.

    Raises
    ------
    ValueError
        A length, index, cost or coefficient is wrong, or an id comes twice.
    """

    fact_count: int
    operator_ids: tuple[str, ...]
    conditions: tuple[frozenset[int], ...]
    effects: tuple[frozenset[int], ...]
    aims: tuple[tuple[int, ...], ...]
    initial: frozenset[int]
    goals: frozenset[int]
    is_free: tuple[bool, ...] = ()
    side_rows: tuple[SideRow, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.operator_ids)
        if len(set(self.operator_ids)) != count:
            raise ValueError("operator ids must differ")
        lengths = {len(self.conditions), len(self.effects), *(len(aim) for aim in self.aims)}
        if lengths - {count} or not self.aims or len(self.is_free) not in (0, count):
            raise ValueError(f"conditions, effects, every aim and is_free must have length {count}; one aim at least")
        if any(cost < 0 for aim in self.aims for cost in aim):
            raise ValueError("costs must be at least 0")
        for facts in (self.initial, self.goals, *self.conditions, *self.effects):
            if facts and not (min(facts) >= 0 and max(facts) < self.fact_count):
                raise ValueError(f"a fact is outside 0 .. {self.fact_count - 1}")
        for row in self.side_rows:
            columns = [column for column, _ in row.coefficients]
            if len(set(columns)) != len(columns) or any(not 0 <= column < count for column in columns):
                raise ValueError("a side row names an operator twice or one that does not exist")
            if any(value < 0 for _, value in row.coefficients) or set(columns) & set(self.free_operators):
                raise ValueError("side rows need coefficients of at least 0 and no free operators")

    @cached_property
    def free_operators(self) -> tuple[int, ...]:
        """Indices of the free operators."""
        return tuple(index for index, free in enumerate(self.is_free) if free)

    @cached_property
    def paid_operators(self) -> tuple[int, ...]:
        """Indices of the operators that can be chosen."""
        free = set(self.free_operators)
        return tuple(index for index in range(len(self.operator_ids)) if index not in free)

    @cached_property
    def held(self) -> frozenset[int]:
        """Facts that are there without choosing anything."""
        return find_closure(self, ())

    @cached_property
    def reachable(self) -> frozenset[int]:
        """Facts that all operators together reach."""
        return find_closure(self, self.paid_operators)

    @cached_property
    def achievers(self) -> tuple[tuple[int, ...], ...]:
        """For each fact the operators that give it, in index order."""
        found: list[list[int]] = [[] for _ in range(self.fact_count)]
        for index, effects in enumerate(self.effects):
            for fact in effects:
                found[fact].append(index)
        return tuple(tuple(line) for line in found)


def find_closure(problem: RelaxedProblem, operators: Iterable[int]) -> frozenset[int]:
    """Return every fact that the start, `operators` and the free operators reach together.

    Parameters
    ----------
    operators : iterable of int
        Chosen operators; those whose conditions are never met give nothing.

    Returns
    -------
    frozenset of int
        The least set that holds the start and the effects of every operator whose conditions it holds.

    Notes
    -----
    Counts open conditions: O(size of the operators).

    Examples
    --------
    >>> problem = RelaxedProblem(3, ("a", "b"), (frozenset(), frozenset({0})), (frozenset({0}), frozenset({1})),
    ...                          ((1, 1),), frozenset(), frozenset({1}))
    >>> sorted(find_closure(problem, [0, 1])), sorted(find_closure(problem, [1]))
    ([0, 1], [])
    """
    reached = set(problem.initial)
    stack: list[int] = []
    open_count: dict[int, int] = {}
    waiting: dict[int, list[int]] = {}

    def apply(operator: int) -> None:
        for fact in problem.effects[operator]:
            if fact not in reached:
                reached.add(fact)
                stack.append(fact)

    for operator in {*operators, *problem.free_operators}:
        missing = problem.conditions[operator] - problem.initial
        open_count[operator] = len(missing)
        for fact in missing:
            waiting.setdefault(fact, []).append(operator)
        if not missing:
            apply(operator)
    while stack:
        fact = stack.pop()
        for operator in waiting.pop(fact, ()):
            open_count[operator] -= 1
            if not open_count[operator]:
                apply(operator)
    return frozenset(reached)


def find_relevant_operators(problem: RelaxedProblem) -> list[int]:
    """Return the operators that can matter, in index order.

    An operator matters when its conditions can be reached from the start, and it gives a fact that is not there
    at the start and that a goal or another operator that matters needs. O(size).
    """
    reachable, held = problem.reachable, problem.held
    needed = set(problem.goals - held)
    stack = list(needed)
    relevant: set[int] = set()
    while stack:
        for operator in problem.achievers[stack.pop()]:
            conditions = problem.conditions[operator]
            if operator not in relevant and conditions <= reachable:
                relevant.add(operator)
                fresh = conditions - held - needed
                needed |= fresh
                stack.extend(fresh)
    return sorted(relevant)


def find_applicable_order(problem: RelaxedProblem, operators: Iterable[int]) -> list[int]:
    """Return `operators` in an order in which every condition is met when its turn comes.

    Round by round: a round holds the operators whose conditions were met when the round began, by id. Operators
    that can never be applied are left out. Free operators are applied as soon as they can be, and not listed.
    O(rounds x size).
    """
    remaining = sorted({*operators} - {*problem.free_operators}, key=lambda index: problem.operator_ids[index])
    order: list[int] = []
    reached = problem.held
    while True:
        turn = [operator for operator in remaining if problem.conditions[operator] <= reached]
        if not turn:
            return order
        order.extend(turn)
        done = set(turn)
        remaining = [operator for operator in remaining if operator not in done]
        reached = find_closure(problem, order)


def remove_redundant(problem: RelaxedProblem, operators: Iterable[int], *, aim: int = 0) -> list[int]:
    """Return a subset of `operators` that reaches the same goals and loses one if any operator is taken out.

    Tries the dearest in the given aim first (then the largest id). O(m x rounds x m). In index order.
    """
    kept = {*operators} - {*problem.free_operators}
    # sets of facts as the bits of integers: a closure is asked for once for each operator
    number: dict[int, int] = {}

    def pack(facts: Iterable[int]) -> int:
        return sum(1 << number.setdefault(fact, len(number)) for fact in facts)

    packed = {
        operator: (pack(problem.conditions[operator] - problem.initial), pack(problem.effects[operator]))
        for operator in {*kept, *problem.free_operators}
    }
    goals = pack(problem.goals - problem.initial)

    def reach(without: int) -> int:
        reached, still = 0, [masks for operator, masks in packed.items() if operator != without]
        while True:
            waiting = still
            still = []
            for needs, gives in waiting:
                if needs & ~reached:
                    still.append((needs, gives))
                else:
                    reached |= gives
            if not still or len(still) == len(waiting):
                return reached & goals

    def key(index: int) -> tuple[int, str]:
        return problem.aims[aim][index], problem.operator_ids[index]

    wanted = reach(-1)
    for operator in sorted(kept, key=key, reverse=True):
        if reach(operator) == wanted:
            kept.discard(operator)
            del packed[operator]
    return sorted(kept)


def build_learning_graph(problem: RelaxedProblem) -> nx.DiGraph[tuple[str, int | str]]:
    """Return the AND/OR graph: condition -> operator -> effect.

    Returns
    -------
    nx.DiGraph
        Nodes ("fact", i) with `kind` "fact", `is_initial`, `is_goal`; nodes ("operator", id) with `kind`
        "operator", `is_free` and `aims` (its cost in each). A fact needs *any* of its predecessors, an operator
        *all* of its own. A new graph; change it as you like. O(size).
    """
    graph: nx.DiGraph[tuple[str, int | str]] = nx.DiGraph()
    for fact in range(problem.fact_count):
        graph.add_node(("fact", fact), kind="fact", is_initial=fact in problem.initial, is_goal=fact in problem.goals)
    free = set(problem.free_operators)
    for index, operator_id in enumerate(problem.operator_ids):
        node = ("operator", operator_id)
        graph.add_node(node, kind="operator", is_free=index in free, aims=tuple(aim[index] for aim in problem.aims))
        graph.add_edges_from((("fact", fact), node) for fact in sorted(problem.conditions[index]))
        graph.add_edges_from((node, ("fact", fact)) for fact in sorted(problem.effects[index]))
    return graph
