"""Quick estimates of what facts cost in a delete-free problem: h_max from below, h_add from above.

May import the relaxed problem only. Bonet & Geffner 2001, Artificial Intelligence 129. Always
h_max <= least cost <= h_add.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Collection, Sequence

from ontology.analysis.engine.relaxed import RelaxedProblem

__all__ = ["compute_fact_costs", "compute_h_add", "compute_h_max"]


def compute_fact_costs(
    problem: RelaxedProblem, costs: Sequence[float], combine: Callable[[Collection[float]], float]
) -> tuple[list[float], list[int]]:
    """Return an estimate of the cost of every fact, and the operator it comes from.

    Parameters
    ----------
    costs : sequence of float, length m
        Cost of each operator, >= 0.
    combine : callable
        How the costs of several conditions add up: `sum` (h_add) or `max` (h_max); called with at least one.

    Returns
    -------
    costs : list of float, length fact_count
        Infinite where a fact cannot be reached; integers stay integers.
    supporters : list of int, length fact_count
        The operator by which the estimate is reached; -1 for the start and the unreachable.

    Notes
    -----
    Dijkstra on a directed hypergraph with a superior function (Knuth 1977, Information Processing Letters 6):
    O(size log size). Ties: smaller operator index.
    """
    fact_costs: list[float] = [math.inf] * problem.fact_count
    supporters = [-1] * problem.fact_count
    open_count = [len(conditions) for conditions in problem.conditions]
    users: list[list[int]] = [[] for _ in range(problem.fact_count)]
    for operator, conditions in enumerate(problem.conditions):
        for fact in conditions:
            users[fact].append(operator)
    queue: list[tuple[float, int, int]] = []

    def offer(operator: int) -> None:
        conditions = problem.conditions[operator]
        price = costs[operator] + (combine([fact_costs[fact] for fact in conditions]) if conditions else 0)
        for fact in problem.effects[operator]:
            if price < fact_costs[fact]:
                fact_costs[fact] = price
                supporters[fact] = operator
                heapq.heappush(queue, (price, operator, fact))

    for fact in sorted(problem.initial):
        fact_costs[fact] = 0
        heapq.heappush(queue, (0, -1, fact))
    for operator, count in enumerate(open_count):
        if not count:
            offer(operator)
    is_settled = [False] * problem.fact_count
    while queue:
        _, _, fact = heapq.heappop(queue)
        if is_settled[fact]:
            continue
        is_settled[fact] = True
        for operator in users[fact]:
            open_count[operator] -= 1
            if not open_count[operator]:
                offer(operator)
    return fact_costs, supporters


def compute_h_max(problem: RelaxedProblem, aim: int = 0) -> float:
    """Return h_max, a lower bound on the cost of reaching all goals in one aim: the dearest goal alone.

    Infinite when a goal cannot be reached; 0 without goals.
    """
    fact_costs, _ = compute_fact_costs(problem, problem.aims[aim], max)
    return max((fact_costs[fact] for fact in problem.goals), default=0)


def compute_h_add(problem: RelaxedProblem, aim: int = 0) -> float:
    """Return h_add, an upper bound on the least cost of all goals: shared operators count every time.

    Infinite when a goal cannot be reached; 0 without goals.
    """
    fact_costs, _ = compute_fact_costs(problem, problem.aims[aim], sum)
    return sum(fact_costs[fact] for fact in problem.goals)
