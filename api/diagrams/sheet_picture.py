"""A picture as a sheet: a head card, below it columns of cards on lines that run down. Imports canvas, cards, sheet.

One line runs down each column, through the heading and the cards of each group; an arrow on it tells that a card makes
the next possible.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import Key, Line, build_card, build_main_card
from api.diagrams.sheet import (
    CARD_INNER,
    COLUMN_GAP,
    LANDSCAPE,
    PORTRAIT,
    ROW_GAP,
    SCREEN,
    Band,
    Cell,
    Format,
    Group,
    Layout,
    PageError,
    measure_line,
    plan_pages,
)
from api.diagrams.text import get_width

_HEAD: style.Mark = style.Mark("runs down", style.LINE, width=1)


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


def build_sheet_picture(content: SheetContent, page: int = 1, layout: Layout = "paper") -> Picture:
    """Return one page of a picture as a sheet.

    Parameters
    ----------
    content : SheetContent
    page : int
        From 1.
    layout : {"paper", "screen"}
        "paper": A4, portrait or landscape by what takes fewer pages; "screen": one sheet, as wide as a screen.

    Raises
    ------
    PageError
        There is no such page.
    """
    groups = [group for group in content.groups if group.cells]
    formats = [SCREEN] if layout == "screen" else [PORTRAIT, LANDSCAPE]
    plan = plan_pages(groups, [(sheet, _measure_heading(content, sheet)) for sheet in formats])
    pages, sheet = plan.pages, plan.format
    if not 1 <= page <= len(pages):
        raise PageError(page, len(pages))
    title, subtitle = content.title, content.subtitle
    described = content.description
    if len(pages) > 1:
        title += f" (page {page} of {len(pages)})"
        words = _tell_pages(pages, page)
        subtitle, described = f"{subtitle} {words}", f"{words} {described}"
    canvas = Canvas(
        title,
        subtitle,
        _flow_keys(content.keys, sheet),
        caution=content.caution,
        rankdir="TB",
        ranksep=ROW_GAP / 72,
        nodesep=COLUMN_GAP / 72,
        heading_columns=sheet.heading_columns,
        page=sheet.name if layout == "paper" else "",
    )
    _add_head(canvas, content)
    tails = [content.head.name] * sheet.columns
    # ranks from a tail to the next band: columns of a band end at different heights
    gaps = [1] * sheet.columns
    for number, band in enumerate(pages[page - 1]):
        _add_band(canvas, band, tails, gaps, number)
    return canvas.finish(described)


def _tell_pages(pages: Sequence[Sequence[Band]], page: int) -> str:
    counts = [sum(len(column.cells) for band in bands for column in band.columns) for bands in pages]
    others = [str(number) for number in range(1, len(pages) + 1) if number != page]
    name = "page" if len(others) == 1 else "pages"
    return f"This page shows {counts[page - 1]} of {sum(counts)} cards; the others are on {name} {', '.join(others)}."


def _measure_heading(content: SheetContent, sheet: Format) -> float:
    """Return the points that heading and head card take, the sentence about pages included."""
    columns = sheet.heading_columns
    lines = [
        Line(content.title + " (page 10 of 10)", style.TITLE_PT, columns=columns * 2 // 3, max_lines=None),
        Line(content.subtitle + " " + "x" * 80, style.TEXT_PT, columns=columns, max_lines=None),
        Line(content.caution, columns=columns + 8, max_lines=None),
    ]
    heading = sum(measure_line(line) + 4 for line in lines) + 22 * len(_flow_keys(content.keys, sheet)) + 18
    return heading + content.head.height + 12


def _flow_keys(keys: Sequence[Sequence[Key]], sheet: Format) -> list[list[Key]]:
    """Break rows of the legend that are wider than the sheet."""
    room = sheet.width - 2 * style.PAGE_MARGIN_PT - 20
    rows: list[list[Key]] = []
    for row in keys:
        free = 0.0
        for key in row:
            width = get_width(key.words) * 4.9 + 44
            if width > free:
                rows.append([])
                free = room
            rows[-1].append(key)
            free -= width
    return rows


def _add_head(canvas: Canvas, content: SheetContent) -> None:
    head = content.head
    card = build_main_card(content.head_mark, head.rows, width=CARD_INNER)
    canvas.add_card(head.name, card, link=head.link, tooltip=head.tooltip)


def _add_band(canvas: Canvas, band: Band, tails: list[str], gaps: list[int], number: int) -> None:
    tallest = max(len(column.cells) for column in band.columns)
    ends = []
    for place, column in enumerate(band.columns):
        group = column.group
        name = f"heading/{group.key}/{column.piece}"
        card = build_card(group.colour, [column.heading], border=style.HAIR, ground=style.PAPER, width=CARD_INNER)
        canvas.add_card(name, card, link=group.link, tooltip=column.words)
        ends.append(name)
        _run(canvas, tails[place], name, column.words, _HEAD, gaps[place])
        tail = name
        for position, cell in enumerate(column.cells):
            _add_cell(canvas, cell)
            is_next = group.has_arrows and (position > 0)
            _run(canvas, tail, cell.name, cell.tooltip, cell.pen or _HEAD, 1, has_arrow=is_next)
            tail = cell.name
        tails[place] = tail
        gaps[place] = tallest - len(column.cells) + 1
    # a place left empty in this band is not used by a later one
    with canvas.graph.subgraph(name=f"row {number}") as row:
        row.attr(rank="same")
        for name in ends:
            row.node(name)
    for left, right in pairwise(ends):
        canvas.graph.edge(left, right, style="invis")


def _run(
    canvas: Canvas, tail: str, head: str, words: str, mark: style.Mark, length: int, *, has_arrow: bool = False
) -> None:
    canvas.add_edge(
        tail,
        head,
        tooltip=words,
        mark=mark,
        tailport="s",
        headport="n",
        weight="30",
        minlen=str(length),
        arrowhead="normal" if has_arrow else "none",
    )


def _add_cell(canvas: Canvas, cell: Cell) -> None:
    card = build_card(
        cell.colour,
        cell.rows,
        border=style.INK if cell.border_width > 1 else style.LINE,
        border_width=cell.border_width,
        dashed=cell.is_dashed,
        # the number's bar, and the many columns of a ruler, take width of their own
        width=CARD_INNER - (17 if cell.mark else 0) - (16 if any(isinstance(row, str) for row in cell.rows) else 0),
        mark=cell.mark,
    )
    canvas.add_card(cell.name, card, link=cell.link, tooltip=cell.tooltip)
