"""A good purchase in little time: level by level, what brings most for its share of the budget. Pure.

For when time is up before the exact search is through; it promises nothing. May import the relaxed problem and its
estimates only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ontology.analysis.engine.estimates import compute_fact_costs
from ontology.analysis.engine.relaxed import RelaxedProblem, find_closure

__all__ = ["choose_greedily"]

_FREE_PRICE = 1e-9
"""A course that takes nothing of the budget still counts a trifle, so that none is chosen in vain."""


def choose_greedily(problem: RelaxedProblem, worth: Mapping[int, int]) -> list[int]:
    """Return operators within the side rows of a problem, rising; its goals play no part.

    Parameters
    ----------
    worth : Mapping of fact to int
        What reaching each fact is worth.

    Notes
    -----
    Each round prices the operators by their shares of the limits, estimates every fact by h_add, and takes the
    operators behind the fact that brings most for its price. O(rounds x facts x size).
    """
    limits = [(dict(row.coefficients), row.upper_bound) for row in problem.side_rows]
    free = set(problem.free_operators)
    chosen: set[int] = set()

    def get_price(operator: int) -> float:
        if operator in free or operator in chosen:
            return 0.0
        return _FREE_PRICE + sum(row.get(operator, 0) / max(limit, 1) for row, limit in limits)

    def fits(operators: Iterable[int]) -> bool:
        taken = list(operators)
        return all(sum(row.get(operator, 0) for operator in taken) <= limit for row, limit in limits)

    while True:
        prices = [get_price(operator) for operator in range(len(problem.operator_ids))]
        _, supporters = compute_fact_costs(problem, prices, sum)
        reached = find_closure(problem, chosen)
        best: tuple[float, list[int]] | None = None
        for fact in sorted(worth.keys() - reached):
            new = sorted(_trace(problem, supporters, fact) - chosen - free)
            if not new or not fits([*chosen, *new]):
                continue
            gained = find_closure(problem, chosen.union(new)) - reached
            rate = sum(value for other, value in worth.items() if other in gained) / sum(prices[o] for o in new)
            if best is None or rate > best[0]:
                best = (rate, new)
        if best is None:
            return sorted(chosen)
        chosen.update(best[1])


def _trace(problem: RelaxedProblem, supporters: Sequence[int], fact: int) -> set[int]:
    """Return the operators behind an estimate; none where the fact cannot be reached."""
    operators: set[int] = set()
    seen, stack = {fact}, [fact]
    while stack:
        operator = supporters[stack.pop()]
        if operator < 0:
            return set()
        operators.add(operator)
        fresh = problem.conditions[operator] - seen
        seen |= fresh
        stack.extend(sorted(fresh))
    return operators
