"""A picture as a sheet: a head card, then groups of cards in frames that flow down columns. Imports drawing, sheet.

An arrow between two cards tells that the upper one makes the lower one possible.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Key
from api.diagrams.placed_cards import Card, build_fixed_card, build_words_card
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import (
    COLUMN_GAP,
    FORMATS,
    FRAME_SIDE,
    GROUP_GAP,
    Cell,
    Format,
    Group,
    Page,
    PageError,
    Piece,
    Plan,
    measure_heading,
    plan_pages,
)

#: Stands in for the sentence that tells how many pages there are.
_SOME_PAGES = " This page shows 100 of 100 cards; the others are on pages 1, 2, 3, 4, 5, 6."


@dataclass(frozen=True, slots=True)
class SheetContent:
    """Everything one picture holds, before it is spread over pages."""

    title: str
    subtitle: str
    keys: Sequence[Sequence[Key]]
    caution: str
    head: Cell
    head_mark: style.Mark
    groups: Sequence[Group]
    description: str


def build_sheet_picture(content: SheetContent, page: int = 1) -> Picture:
    """Return one page of a picture as a sheet: A4, portrait or landscape by what takes fewer pages.

    Parameters
    ----------
    content : SheetContent
    page : int
        From 1.

    Raises
    ------
    PageError
        There is no such page.
    """
    plan = plan_sheet(content)
    if not 1 <= page <= len(plan.pages):
        raise PageError(page, len(plan.pages))
    return draw_sheet(content, plan, page)


def plan_sheet(content: SheetContent) -> Plan:
    """Return how a picture is spread over pages."""
    groups = [group for group in content.groups if group.cells]
    formats = []
    for sheet in FORMATS:
        heading = _build_heading(content, sheet, " (page 10 of 10)", _SOME_PAGES)
        formats.append((sheet, heading.height, _build_head(content, sheet.column_width).height + GROUP_GAP))
    return plan_pages(groups, formats)


def draw_sheet(content: SheetContent, plan: Plan, page: int, ahead: int = 0) -> Picture:
    """Return one page of a plan; `ahead` pages of another kind stand before its first one."""
    more, words = "", ""
    if len(plan.pages) + ahead > 1:
        more = f" (page {page + ahead} of {len(plan.pages) + ahead})"
    if len(plan.pages) > 1:
        words = f" {_tell_pages(plan.pages, page, ahead)}"
    drawing = Drawing(content.title + more, plan.format.name)
    heading = _build_heading(content, plan.format, more, words)
    drawing.add_card("heading", 0, 0, heading, tooltip=content.title + more)
    for position, column in enumerate(plan.pages[page - 1]):
        x, y = position * (plan.format.column_width + COLUMN_GAP), heading.height
        if page == 1 and not position:
            head = _build_head(content, plan.format.column_width)
            drawing.add_card(content.head.name, x, y, head, link=content.head.link, tooltip=content.head.tooltip)
            y += head.height + GROUP_GAP
        for piece in column:
            add_piece(drawing, piece, x, y, plan.format.column_width)
            y += piece.measure(plan.format.column_width) + GROUP_GAP
    return drawing.finish(" ".join(filter(None, (words.strip(), content.description))), content.caution)


def _build_heading(content: SheetContent, sheet: Format, more: str, words: str) -> Card:
    return build_fixed_heading(
        content.title + more, content.subtitle + words, content.keys, content.caution, sheet.width
    )


def _build_head(content: SheetContent, width: int) -> Card:
    mark = content.head_mark
    return build_fixed_card(content.head.rows, width, mark.colour, border=mark.colour, border_width=2, ground=mark.tint)


def _tell_pages(pages: Sequence[Page], page: int, ahead: int) -> str:
    counts = [sum(len(piece.cells) for column in columns for piece in column) for columns in pages]
    others = [str(number + ahead) for number in range(1, len(pages) + 1) if number != page]
    name = "page" if len(others) == 1 else "pages"
    return f"This page shows {counts[page - 1]} of {sum(counts)} cards; the others are on {name} {', '.join(others)}."


def add_piece(drawing: Drawing, piece: Piece, x: float, y: float, width: int) -> None:
    """Draw a group, or a part of one: frame, heading, cards."""
    group, inner = piece.group, width - 2 * FRAME_SIDE
    drawing.add_frame(x, y, width, piece.measure(width), is_rounded=False)
    # a stripe in the group's colour, above its words
    drawing.add_frame(x, y, width, 2.5, ground=group.colour, border=group.colour, is_rounded=False)
    x, y = x + FRAME_SIDE, y + FRAME_SIDE
    heading = build_words_card([piece.heading], inner)
    name = f"heading/{group.key}/{piece.part}"
    drawing.add_card(name, x, y, heading, link=group.link, tooltip=piece.heading.text)
    y += measure_heading(piece.heading.text, inner)
    tops = []
    for cell in piece.cells:
        card = build_cell_card(cell, inner)
        tops.append((cell, y, card.height))
        drawing.add_card(cell.name, x, y, card, link=cell.link, tooltip=cell.tooltip)
        y += card.height + group.gap
    if group.has_arrows:
        for (above, top, height), (below, to, _) in pairwise(tops):
            middle = x + inner / 2
            drawing.add_line(
                above.name,
                below.name,
                [(middle, top + height), (middle, to)],
                tooltip=below.tooltip,
                mark=below.pen or style.HOLDS,
            )


def build_cell_card(cell: Cell, width: int) -> Card:
    """Return the card of a cell."""
    return build_fixed_card(
        cell.rows,
        width,
        cell.colour,
        border=style.INK if cell.border_width > 1 else style.LINE,
        border_width=cell.border_width,
        is_dashed=cell.is_dashed,
        mark=cell.mark,
    )
