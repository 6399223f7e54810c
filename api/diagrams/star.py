"""A card in the middle, groups of cards at both sides, a line from the middle to each group. Imports drawing, sheet.

For a screen. A group that is long goes on in further columns, away from the middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Key
from api.diagrams.placed_cards import build_fixed_card
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import COLUMN_GAP, GROUP_GAP, Cell, Column, Group, flow_columns
from api.diagrams.sheet_picture import add_piece
from api.diagrams.text import get_width

#: Points: a column of cards, the card in the middle, the space for lines.
_COLUMN: Final = 236
_MIDDLE: Final = 220
_SPACE: Final = 90
#: The middle stands no lower than this below the heading.
_LOWEST: Final = 260
#: Cards of one column; longer sides take more columns.
_COLUMN_LENGTH: Final = 16


@dataclass(frozen=True, slots=True)
class Arm:
    """A group and the line that joins it to the middle; with an arrow it points at the middle or at the group."""

    group: Group
    mark: style.Mark
    words: str
    points_at: str = ""


@dataclass(frozen=True, slots=True)
class StarContent:
    """Everything one picture holds."""

    title: str
    subtitle: str
    keys: Sequence[Sequence[Key]]
    middle: Cell
    mark: style.Mark
    left: Sequence[Arm]
    right: Sequence[Arm]
    description: str


def build_star_picture(content: StarContent, *, most_columns: int = 3) -> Picture:
    """Return the picture; a side with more than one group has one column, so that lines reach every group."""
    left = [arm for arm in content.left if arm.group.cells]
    right = [arm for arm in content.right if arm.group.cells]
    sides = [(arms, _flow(arms, most_columns)) for arms in (left, right)]
    counts = [len(columns) for _, columns in sides]
    x = counts[0] * (_COLUMN + COLUMN_GAP) - COLUMN_GAP + _SPACE if left else 0
    width = x + _MIDDLE + (_SPACE + counts[1] * (_COLUMN + COLUMN_GAP) - COLUMN_GAP if right else 0)
    drawing = Drawing(content.title)
    # a heading may be wider than a small picture
    width = max(width, 560, min(1000, get_width(content.title) * 11))
    heading = build_fixed_heading(content.title, content.subtitle, content.keys, "", width)
    drawing.add_card("heading", 0, 0, heading, tooltip=content.title)
    card = build_fixed_card(
        content.middle.rows,
        _MIDDLE,
        content.mark.colour,
        border=content.mark.colour,
        border_width=2,
        ground=content.mark.tint,
    )
    tallest = max((_measure(column) for _, columns in sides for column in columns), default=0)
    top = heading.height + min(max(0.0, (tallest - card.height) / 2), _LOWEST)
    drawing.add_card(content.middle.name, x, top, card, link=content.middle.link, tooltip=content.middle.tooltip)
    span = (top, top + card.height)
    for (arms, columns), is_left in zip(sides, (True, False), strict=True):
        begin = x - _SPACE - _COLUMN if is_left else x + _MIDDLE + _SPACE
        step = -(_COLUMN + COLUMN_GAP) if is_left else _COLUMN + COLUMN_GAP
        spots = {}
        for number, column in enumerate(columns):
            y = float(heading.height)
            for piece in column:
                add_piece(drawing, piece, begin + number * step, y, _COLUMN)
                height = piece.measure(_COLUMN)
                if number == 0 and not piece.start:
                    spots[piece.group.key] = y + min(height / 2, 60)
                y += height + GROUP_GAP
        edge = begin + _COLUMN if is_left else begin
        _add_lines(drawing, content.middle.name, arms, spots, span, (x if is_left else x + _MIDDLE, edge))
    return drawing.finish(content.description)


def _flow(arms: Sequence[Arm], most_columns: int) -> Sequence[Column]:
    """Return the columns of a side, the nearest to the middle first."""
    groups = [arm.group for arm in arms]
    if not groups:
        return []
    cards = sum(len(group.cells) for group in groups)
    columns = min(most_columns, -(-cards // _COLUMN_LENGTH)) if len(groups) == 1 else 1
    return flow_columns(groups, columns * _COLUMN + (columns - 1) * COLUMN_GAP, columns)


def _measure(column: Column) -> float:
    return sum(piece.measure(_COLUMN) + GROUP_GAP for piece in column)


def _add_lines(
    drawing: Drawing,
    middle: str,
    arms: Sequence[Arm],
    spots: dict[str, float],
    span: tuple[float, float],
    ends: tuple[float, float],
) -> None:
    """Draw a line from the side of the middle card to each frame, in order from the top down."""
    for number, arm in enumerate(arms, start=1):
        near = (ends[0], span[0] + (span[1] - span[0]) * number / (len(arms) + 1))
        far = (ends[1], spots[arm.group.key])
        heading = f"heading/{arm.group.key}/0"
        is_inward = arm.points_at == "middle"
        drawing.add_curve(
            heading if is_inward else middle,
            middle if is_inward else heading,
            [far, near] if is_inward else [near, far],
            tooltip=arm.words,
            mark=arm.mark,
            has_arrow=bool(arm.points_at),
        )
