"""The order of a ladder's lanes and rows in which the fewest lines meet a card on their way. Imports ladder_parts.

Neighbours change places as long as that helps: the same rows give the same order.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from api.diagrams.ladder_parts import APPROACH, BESIDE, Row, Rung

_SWEEPS: Final = 6
#: What a card in the way of a foremost line costs, and a row that a line crosses.
_FOREMOST: Final = 4.0
_CROSSED: Final = 0.02


def order_rows(lanes: Sequence[Sequence[Row]]) -> list[list[Row]]:
    """Return the lanes from the top down, each with its rows: the first and the last lane stay where they are.

    O(s r e c) for s sweeps, r rows, e lines and c cards.
    """
    best = [list(rows) for rows in lanes]
    lines = [(rung, rung.parent) for rows in best for row in rows for rung in row.rungs if rung.parent]
    cost = _count(best, lines)
    for _ in range(_SWEEPS):
        before = cost
        for position in range(1, len(best) - 2):
            cost = _try_swap(best, position, best, lines, cost)
        for rows in best:
            for position in range(len(rows) - 1):
                cost = _try_swap(rows, position, best, lines, cost)
        if cost == before:
            break
    return best


def _try_swap(
    items: list[Any], position: int, lanes: Sequence[Sequence[Row]], lines: Sequence[tuple[Rung, Rung]], cost: float
) -> float:
    """Let two neighbours (lanes, or rows of a lane) change places if that costs less; return the cost."""
    items[position], items[position + 1] = items[position + 1], items[position]
    swapped = _count(lanes, lines)
    if swapped < cost - 1e-9:
        return swapped
    items[position], items[position + 1] = items[position + 1], items[position]
    return cost


def _count(lanes: Sequence[Sequence[Row]], lines: Sequence[tuple[Rung, Rung]]) -> float:
    rows = [row for own in lanes for row in own]
    places = {id(rung): number for number, row in enumerate(rows) for rung in row.rungs}
    total = 0.0
    for rung, parent in lines:
        low, high = sorted((places[id(rung)], places[id(parent)]))
        x = parent.right + BESIDE
        weight = _FOREMOST if rung.is_foremost else 1.0
        for row in rows[low + 1 : high]:
            total += _CROSSED * weight
            total += weight * any(other.x - APPROACH < x < other.right for other in row.rungs)
    return total
