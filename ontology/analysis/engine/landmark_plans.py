"""Good plans in little time: the upper bounds of the search.

May import the reduced task only. Supporters by h_add (Bonet & Geffner 2001, Artificial Intelligence 129), then
taking out what the plan can do without.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence

from ontology.analysis.engine.landmark_task import ReducedTask

__all__ = ["extract_plan", "find_supporters", "prune_plan"]


def find_supporters(task: ReducedTask, costs: Mapping[int, float]) -> tuple[list[float], list[int]]:
    """Return h_add of each fact by the operators of `costs`, and the operator each is reached by (-1: none).

    Free operators take part at cost 0. Dijkstra on a directed hypergraph (Knuth 1977), O(size log size). Ties: the
    smaller operator.
    """
    fact_costs = [math.inf] * task.fact_count
    supporters = [-1] * task.fact_count
    users: list[list[int]] = [[] for _ in range(task.fact_count)]
    open_count: dict[int, int] = {}
    price: dict[int, float] = {}
    queue: list[tuple[float, int, int]] = []

    def offer(operator: int) -> None:
        total = price[operator]
        for fact in task.effects[operator]:
            if total < fact_costs[fact]:
                fact_costs[fact] = total
                supporters[fact] = operator
                heapq.heappush(queue, (total, operator, fact))

    for operator in [*costs, *range(task.paid_count, len(task.sources))]:
        price[operator] = costs.get(operator, 0.0)
        open_count[operator] = len(task.conditions[operator])
        for fact in task.conditions[operator]:
            users[fact].append(operator)
        if not task.conditions[operator]:
            offer(operator)
    is_settled = [False] * task.fact_count
    while queue:
        total, _, fact = heapq.heappop(queue)
        if is_settled[fact]:
            continue
        is_settled[fact] = True
        for operator in users[fact]:
            price[operator] += total
            open_count[operator] -= 1
            if not open_count[operator]:
                offer(operator)
    return fact_costs, supporters


def extract_plan(task: ReducedTask, supporters: Sequence[int]) -> list[int] | None:
    """Return the paid operators that support the goals, rising; None when a goal has no supporter."""
    plan: set[int] = set()
    seen = set(task.goals)
    stack = list(task.goals)
    while stack:
        operator = supporters[stack.pop()]
        if operator < 0:
            return None
        if operator < task.paid_count:
            plan.add(operator)
        for fact in task.conditions[operator]:
            if fact not in seen:
                seen.add(fact)
                stack.append(fact)
    return sorted(plan)


def prune_plan(task: ReducedTask, plan: Iterable[int], costs: Sequence[int]) -> list[int] | None:
    """Return `plan` without operators it can do without (dearest first); None when it misses a goal."""
    goals = sum(1 << goal for goal in task.goals)
    kept = sorted(plan, key=lambda operator: (costs[operator], operator))
    if goals & ~task.get_reached(kept):
        return None
    for operator in reversed(list(kept)):
        rest = [other for other in kept if other != operator]
        if not goals & ~task.get_reached(rest):
            kept = rest
    return sorted(kept)
