"""Lines of a ladder, led around its cards: level in rows, upright between them. Imports ladder_parts.

A line leaves its card to the right, turns up or down beside it, steps aside in the gap before a row where a card is
in the way, and arrives level. Rows keep the level piece before each card free (`Row.is_free`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from api.diagrams.ladder_parts import APPROACH, BESIDE, ROW_GAP, Row, Rung, get_run_start

Point = tuple[float, float]

#: Points between two uprights, between two levels in one gap.
_APART: Final = 5
_LEVELS: Final = (0.0, -3.0, 3.0, -6.0, 6.0)


@dataclass(slots=True)
class LinePlanner:
    """The lines of one ladder; what is taken is remembered, so that two lines do not run on one another."""

    rows: Sequence[Row]
    _uprights: defaultdict[int, list[tuple[float, Rung]]] = field(default_factory=lambda: defaultdict(list))
    _levels: defaultdict[int, list[tuple[float, float, Rung, float]]] = field(default_factory=lambda: defaultdict(list))

    def plan(self, rung: Rung) -> list[Point]:
        """Return the points of the line that leads to a card from its parent."""
        parent = rung.parent
        if parent is None:
            return []
        if parent.row == rung.row:
            # cards of one row may differ in height, never in their middle
            return [(parent.right, parent.middle), (rung.x, rung.middle)]
        x = parent.right + BESIDE
        points: list[Point] = [(parent.right, parent.middle), (x, parent.middle)]
        step = 1 if rung.row > parent.row else -1
        rows = list(range(parent.row + step, rung.row + step, step))
        straight = self._find_straight(rows, rung, parent)
        if straight is not None:
            points[-1] = (straight, parent.middle)
            x = straight
        self._uprights[parent.row].append((x, parent))
        for number in rows:
            free = x if straight is not None else self._find_upright(number, x, rung, parent)
            if number == rung.row:
                free = min(x, rung.x - APPROACH)
            if free != x:
                level = self._find_level(number, step, x, free, parent)
                points += [(x, level), (free, level)]
                x = free
            self._uprights[number].append((x, parent))
        return [*points, (x, rung.middle), (rung.x, rung.middle)]

    def _find_straight(self, rows: Sequence[int], rung: Rung, parent: Rung) -> float | None:
        """Return where one upright may cross all rows between, nearest to the parent; None: nowhere."""
        between = [number for number in rows if number != rung.row]
        least, most = parent.right + _APART, rung.x - APPROACH
        for other in self.rows[parent.row].rungs:
            # the level piece beside the parent ends before the next card
            if other.x > parent.x:
                most = min(most, get_run_start(other) - 2)
        bad = [zone for number in between for zone in self._get_cards(number)]
        bad += [zone for number in (parent.row, *rows) for zone in self._get_uprights(number, parent)]
        for place in sorted(_iterate_edges(bad, parent.right + BESIDE)):
            if least <= place <= most and not any(low < place < high for low, high in bad):
                return place
        return None

    def _get_cards(self, number: int) -> list[tuple[float, float]]:
        """Return the parts of a row where cards stand, with the words before them."""
        return [(other.x - APPROACH - 1, other.right + 3) for other in self.rows[number].rungs]

    def _get_uprights(self, number: int, parent: Rung) -> list[tuple[float, float]]:
        """Return the parts of a row near the uprights of other cards."""
        return [(at - _APART, at + _APART) for at, owner in self._uprights[number] if owner is not parent]

    def _find_upright(self, number: int, x: float, rung: Rung, parent: Rung) -> float:
        """Return the place nearest to x where an upright may cross a row."""
        bad = self._get_cards(number) + self._get_uprights(number, parent)
        least = parent.right + _APART
        candidates = sorted(_iterate_edges(bad, x), key=lambda place: (abs(place - x) + 40 * (place > rung.x), place))
        for place in candidates:
            if place >= least and not any(low < place < high for low, high in bad):
                return place
        return x

    def _find_level(self, number: int, step: int, start: float, end: float, parent: Rung) -> float:
        """Return the height of a level piece in the gap before a row."""
        row = self.rows[number]
        middle = row.top - ROW_GAP / 2 if step > 0 else row.bottom + ROW_GAP / 2
        gap = number if step > 0 else number + 1
        low, high = min(start, end), max(start, end)
        taken = [
            level
            for other_low, other_high, owner, level in self._levels[gap]
            if owner is not parent and other_low < high + _APART and low < other_high + _APART
        ]
        offset = next((offset for offset in _LEVELS if middle + offset not in taken), 0.0)
        self._levels[gap].append((low, high, parent, middle + offset))
        return middle + offset


def _iterate_edges(bad: Sequence[tuple[float, float]], x: float) -> Iterator[float]:
    yield x
    for low, high in bad:
        yield low
        yield high


def get_words_place(rung: Rung) -> Point:
    """Return the middle of the words on a step, above the level line before its card."""
    return rung.x - (APPROACH + 7) / 2, rung.middle - 7
