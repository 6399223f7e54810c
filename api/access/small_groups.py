"""Figures about few people are not told to who may not see the people, nor can they be worked out from what is told.

A figure below the least size is hidden; so that the others and the total do not tell it, the next smallest are hidden
with it until more than one filling would look the same. Two tables of the same question that differ by one person (the
members of a team on two days) would tell by their difference what each of them hides: they hide the same cells, and
none of them tells its total. Who knows these rules works out nothing either; a test tries all small tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

__all__ = ["LEAST", "Told", "protect", "protect_all"]

#: The fewest people a figure is told about, where nothing else is set.
LEAST: Final = 5


@dataclass(frozen=True, slots=True)
class Told:
    """A row of figures as it is told; None: hidden."""

    cells: tuple[int | None, ...]
    total: int | None


def protect(counts: Sequence[int], least: int = LEAST) -> Told:
    """Return one row as it is told where no other differs from it by one person."""
    return protect_all([counts], least)[0]


def protect_all(rows: Sequence[Sequence[int]], least: int = LEAST) -> list[Told]:
    """Return rows of the same cells, of every day that can be asked about, as they are told.

    Parameters
    ----------
    rows : sequence of equally long sequences of int
        How many people are in each cell. Each person of a row is in one cell.
    least : int

    Notes
    -----
    O(rows^2 x cells): rows are as many as days that can be asked about.
    """
    groups = _find_groups(rows)
    told: list[Told] = [Told((), None)] * len(rows)
    for group in groups:
        hidden = frozenset().union(*(_find_hidden(rows[n], least) for n in group))
        for n in group:
            cells = tuple(None if i in hidden else count for i, count in enumerate(rows[n]))
            total = sum(rows[n])
            has_total = total >= least and (not hidden or len(group) == 1)
            told[n] = Told(cells, total if has_total else None)
    return told


def _find_groups(rows: Sequence[Sequence[int]]) -> list[list[int]]:
    """Return the numbers of the rows, those together that lead into each other by one person at a time."""
    left, groups = set(range(len(rows))), []
    while left:
        group, new = [], [min(left)]
        while new:
            n = new.pop()
            if n in left:
                left.discard(n)
                group.append(n)
                new += [other for other in left if _is_next(rows[n], rows[other])]
        groups.append(sorted(group))
    return groups


def _is_next(one: Sequence[int], other: Sequence[int]) -> bool:
    """Whether one person who comes, goes or changes cells makes one row the other, or they are equal."""
    steps = [a - b for a, b in zip(one, other, strict=True)]
    moved = sum(map(abs, steps))
    return moved <= 1 or (moved == 2 and sum(steps) == 0)


def _find_hidden(counts: Sequence[int], least: int) -> frozenset[int]:
    hidden = {i for i, count in enumerate(counts) if count < least}
    if not hidden:
        return frozenset()
    while len(hidden) < len(counts):
        total = sum(counts[i] for i in hidden)
        # all of nothing, or all of them as large as what is small can be: there is one filling alone
        is_plain = total == 0 or (total == (least - 1) * len(hidden) and all(counts[i] < least for i in hidden))
        if len(hidden) > 1 and not is_plain:
            break
        # all that are equally small, or which of them stays would tell
        smallest = min(count for i, count in enumerate(counts) if i not in hidden)
        hidden |= {i for i, count in enumerate(counts) if count == smallest}
    return frozenset(hidden)
