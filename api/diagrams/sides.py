"""Columns of cards with lines from one to the next: people beside needs, slots, plans. Imports drawing, sheet.

All cards of a column stand in line; lines swing through the free space between two columns, and their ends are spread
over the sides of the cards in the order of the other ends.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from api.diagrams import old_style as style
from api.diagrams.drawing import Drawing
from api.diagrams.sheet import FRAME_SIDE, GROUP_GAP, Group, Piece, measure_heading
from api.diagrams.sheet_picture import add_piece


@dataclass(frozen=True, slots=True)
class Side:
    """A drawn column: the upper and lower edge of each card by name, where lines leave and arrive; points."""

    spans: Mapping[str, tuple[float, float]]
    left: float
    right: float
    bottom: float


@dataclass(frozen=True, slots=True)
class SideLine:
    """A line from a card of the left column to one of the right."""

    tail: str
    head: str
    mark: style.Mark
    tooltip: str
    has_arrow: bool = False


def add_side(drawing: Drawing, groups: Sequence[Group], x: float, y: float, width: int) -> Side:
    """Draw groups below one another as one column."""
    spans = {}
    inner = width - 2 * FRAME_SIDE
    for group in groups:
        piece = Piece(group, 0, len(group.cells))
        add_piece(drawing, piece, x, y, width)
        top = y + FRAME_SIDE + measure_heading(piece.heading.text, inner)
        for cell in group.cells:
            spans[cell.name] = (top, top + cell.measure(inner))
            top = spans[cell.name][1] + group.gap
        y += piece.measure(width) + GROUP_GAP
    return Side(spans, x + FRAME_SIDE, x + width - FRAME_SIDE, y)


def add_side_lines(drawing: Drawing, left: Side, right: Side, lines: Sequence[SideLine]) -> None:
    """Draw lines from one column to the next, the widest on top."""
    starts = _spread(left, [(line.tail, right.spans[line.head][0]) for line in lines])
    ends = _spread(right, [(line.head, left.spans[line.tail][0]) for line in lines])
    for number in sorted(range(len(lines)), key=lambda number: lines[number].mark.width):
        line = lines[number]
        drawing.add_curve(
            line.tail,
            line.head,
            [(left.right, starts[number]), (right.left, ends[number])],
            tooltip=line.tooltip,
            mark=line.mark,
            has_arrow=line.has_arrow,
        )


def _spread(side: Side, ends: Sequence[tuple[str, float]]) -> dict[int, float]:
    """Return the height at which each line meets its card."""
    groups: defaultdict[str, list[tuple[float, int]]] = defaultdict(list)
    for number, (name, other) in enumerate(ends):
        groups[name].append((other, number))
    places = {}
    for name, group in groups.items():
        top, bottom = side.spans[name]
        for position, (_, number) in enumerate(sorted(group), start=1):
            places[number] = top + (bottom - top) * position / (len(group) + 1)
    return places
