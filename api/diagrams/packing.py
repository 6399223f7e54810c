"""Blocks of different sizes put on pages: shelves from the top down, small ones below one another. Imports nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Spot(NamedTuple):
    """Where a block stands: page from 0, upper left corner in points."""

    page: int
    x: float
    y: float


def pack_blocks(
    sizes: Sequence[tuple[float, float]], width: float, height: float, gap: float, first: float = 0
) -> list[Spot]:
    """Return a spot for each block, in reading order.

    Parameters
    ----------
    sizes : sequence of (width, height)
        Points; none wider than `width` (one that is stands alone).
    width, height : float
        Of a page; infinite height for a screen.
    gap : float
        Between blocks.
    first : float
        Points taken at the top of the first page.

    Notes
    -----
    A shelf is as high as its highest block; a lower block stands below another one where both fit. A shelf goes to the
    first page with room for it. O(n p) for n blocks on p pages.
    """
    shelves: list[tuple[float, list[tuple[float, float]]]] = []
    shelf: list[tuple[float, float]] = []
    x = y = column = highest = 0.0
    for wide, high in sizes:
        if y and y + high <= highest and wide <= column:
            shelf.append((x, y))
            y += high + gap
            continue
        if y:
            x, y, column = x + column + gap, 0.0, 0.0
        if shelf and x + wide > width:
            shelves.append((highest, shelf))
            shelf, x, highest = [], 0.0, 0.0
        shelf.append((x, 0.0))
        column, highest, y = wide, max(highest, high), high + gap
    if shelf:
        shelves.append((highest, shelf))
    tops = [first]
    spots: list[Spot] = []
    for highest, shelf in shelves:
        page = next((number for number, top in enumerate(tops) if top + highest <= height), len(tops))
        if page == len(tops):
            tops.append(0.0)
        spots += [Spot(page, at, tops[page] + down) for at, down in shelf]
        tops[page] += highest + gap
    return spots
