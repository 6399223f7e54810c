"""How cards are spread over sheets: groups flow down columns, from page to page. Imports style, cards, placed_cards.

Columns fill one after the other; on the last page they end at about the same height. A group stays whole where that
costs no page.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.old_cards import Line, Ruler
from api.diagrams.paging import Layout, PageError
from api.diagrams.placed_cards import measure_rows

__all__ = ["Layout", "PageError"]

#: Points between columns, between groups, between cards, between cards that an arrow joins.
COLUMN_GAP: Final = 10
GROUP_GAP: Final = 9
CARD_GAP: Final = 5
ARROW_GAP: Final = 15
#: Columns a line on a sheet is said to hold; it is wrapped to the width of its card.
NAME_COLUMNS: Final = 22
NOTE_COLUMNS: Final = 29
#: Free space inside the frame of a group.
FRAME_SIDE: Final = 5
_ENDLESS: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Cell:
    """One card on a sheet; `pen` is how the arrow that leads to it looks."""

    name: str
    rows: tuple[Line | Ruler, ...]
    colour: str
    tooltip: str
    link: str = ""
    pen: style.Mark | None = None
    is_dashed: bool = False
    border_width: float = 1
    mark: str = ""

    def measure(self, width: int) -> int:
        """Return the height at a width, in points."""
        return measure_rows(self.rows, width, has_mark=bool(self.mark), border_width=self.border_width)


@dataclass(frozen=True, slots=True)
class Group:
    """Cards that stand below one heading; with arrows where each makes the next possible."""

    key: str
    words: str
    cells: tuple[Cell, ...]
    colour: str = style.LINE
    link: str = ""
    has_arrows: bool = False

    @property
    def gap(self) -> int:
        """Points between two cards."""
        return ARROW_GAP if self.has_arrows else CARD_GAP


class Piece(NamedTuple):
    """A group, or a part of one, as it stands in a column: cards `start` to `end`."""

    group: Group
    start: int
    end: int
    part: int = 0
    parts: int = 1

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The cards that stand here."""
        return self.group.cells[self.start : self.end]

    @property
    def heading(self) -> Line:
        """The heading: a group that is broken says so."""
        more = f", part {self.part + 1} of {self.parts}" if self.parts > 1 else ""
        return Line(self.group.words + more, style.TEXT_PT, bold=True, max_lines=None)

    def measure(self, width: int) -> int:
        """Return the height of frame, heading and cards at the width of a column, in points."""
        inner = width - 2 * FRAME_SIDE
        cards = sum(cell.measure(inner) + self.group.gap for cell in self.cells) - self.group.gap
        is_whole = not self.start and self.end == len(self.group.cells)
        words = self.group.words + ("" if is_whole else ", part 10 of 10")
        return 2 * FRAME_SIDE + measure_heading(words, inner) + cards


#: A column holds pieces, a page columns.
Column = tuple[Piece, ...]
Page = tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Format:
    """A sheet: points between its margins, and columns side by side."""

    name: str
    width: int
    room: int
    columns: int

    @property
    def column_width(self) -> int:
        """Points."""
        return (self.width - (self.columns - 1) * COLUMN_GAP) // self.columns


def build_format(name: str, columns: int) -> Format:
    """Return a page of a standard size."""
    width, height = (int(side - 2 * style.PAGE_MARGIN_PT - 144 * style.PAGE_PAD) for side in style.PAGES_PT[name])
    return Format(name, width, height, columns)


#: The preferred first: wide cards for a few, narrow ones for many.
FORMATS: Final = (build_format("A4 portrait", 2), build_format("A4 portrait", 3), build_format("A4 landscape", 4))


class Plan(NamedTuple):
    """Which pieces stand in which column of which page.

    `broken` counts the pieces, and columns left empty before the last page as some pieces more; `empty` is the share
    of the last page.
    """

    format: Format
    pages: tuple[Page, ...]
    broken: int
    empty: float


def measure_heading(words: str, width: int) -> int:
    """Return the height of a group's heading with the space below it, in points."""
    # the heading stands without a card: a little closer
    return measure_rows((Line(words, style.TEXT_PT, bold=True, max_lines=None),), width, has_bar=False) - 4


#: The next card to be placed: its group, its place in the group.
_Cursor = tuple[int, int]


class _Filling(NamedTuple):
    """What is spread, over which sheets, and how: `first` is taken at the top of the very first column."""

    groups: Sequence[Group]
    format: Format
    room: int
    first: int
    is_whole: bool

    def fill_page(self, cursor: _Cursor, height: int) -> tuple[list[list[Piece]], _Cursor]:
        """Return the columns of one page from a card on, none higher than `height`, and the next card."""
        columns = []
        for position in range(self.format.columns):
            has_head = cursor == (0, 0) and not position and self.first > 0
            free = height - (self.first if has_head else 0)
            pieces, cursor = self._fill_column(cursor, free, has_head)
            columns.append(pieces)
        return columns, cursor

    def _fill_column(self, cursor: _Cursor, free: float, has_head: bool) -> tuple[list[Piece], _Cursor]:
        width = self.format.column_width
        pieces: list[Piece] = []
        number, start = cursor
        while number < len(self.groups):
            group = self.groups[number]
            count = _count_fitting(group, start, free, width)
            is_rest = start + count == len(group.cells)
            is_begun = bool(pieces) or has_head
            if not is_rest and is_begun and (not count or (self.is_whole and self._is_whole_elsewhere(group, start))):
                break
            # an empty column takes at least one card, whatever its height
            count = max(1, count)
            piece = Piece(group, start, start + count)
            pieces.append(piece)
            free -= piece.measure(width) + GROUP_GAP
            number, start = (number + 1, 0) if start + count == len(group.cells) else (number, start + count)
            if start:
                break
        return pieces, (number, start)

    def _is_whole_elsewhere(self, group: Group, start: int) -> bool:
        return not start and Piece(group, 0, len(group.cells)).measure(self.format.column_width) <= self.room


def _count_fitting(group: Group, start: int, free: float, width: int) -> int:
    """Return how many cards of a group fit below its heading."""
    inner = width - 2 * FRAME_SIDE
    taken = Piece(group, start, start).measure(width)
    count = 0
    for cell in group.cells[start:]:
        taken += cell.measure(inner) + group.gap
        if taken > free:
            break
        count += 1
    return count


def plan_pages(groups: Sequence[Group], formats: Sequence[tuple[Format, int, int]]) -> Plan:
    """Return the plan with the fewest pages, then the fewest broken groups, then the least empty paper.

    Parameters
    ----------
    groups : sequence of Group
        In the order they are read; none is empty.
    formats : sequence of (Format, int, int)
        Formats to choose from, the preferred first. With each, the points taken at the top of every column, and of
        the very first column besides.

    Notes
    -----
    O(f k log h) for f formats, k cards and h points of height.
    """
    plans = [
        _plan(_Filling(groups, sheet, sheet.room - taken, first, is_whole))
        for sheet, taken, first in formats
        for is_whole in (True, False)
    ]
    return min(plans, key=lambda plan: (len(plan.pages), plan.broken, round(plan.empty, 1)))


def flow_columns(groups: Sequence[Group], width: int, columns: int) -> Page:
    """Return groups spread over columns of about the same height, as high as they must be: for a screen."""
    return _plan(_Filling(groups, Format("", width, _ENDLESS, columns), _ENDLESS, 0, is_whole=False)).pages[0]


def _plan(filling: _Filling) -> Plan:
    pages: list[list[list[Piece]]] = []
    cursor, before = (0, 0), (0, 0)
    while cursor[0] < len(filling.groups) or not pages:
        before = cursor
        columns, cursor = filling.fill_page(cursor, filling.room)
        pages.append(columns)
    # the columns of the last page end at about the same height
    most = sum(map(len, pages[-1])) if filling.is_whole else math.inf
    low, high = 0, filling.room
    while low < high:
        middle = (low + high) // 2
        columns, cursor = filling.fill_page(before, middle)
        is_better = cursor[0] == len(filling.groups) and sum(map(len, columns)) <= most
        if is_better and all(_measure_column(filling, column) <= middle for column in columns):
            high, pages[-1] = middle, columns
        else:
            low = middle + 1
    heights = [[_measure_column(filling, column) / filling.room for column in page] for page in pages]
    pieces = sum(len(column) for page in pages for column in page)
    holes = sum(max(0.0, 0.7 - height) for page in heights[:-1] for height in page)
    return Plan(
        filling.format, _number(pages), pieces + round(8 * holes), 1 - sum(heights[-1]) / filling.format.columns
    )


def _measure_column(filling: _Filling, column: Sequence[Piece]) -> int:
    return sum(piece.measure(filling.format.column_width) + GROUP_GAP for piece in column) - GROUP_GAP * bool(column)


def _number(pages: Sequence[Sequence[Sequence[Piece]]]) -> tuple[Page, ...]:
    """Tell each piece which part of its group it is."""
    counts = Counter(piece.group.key for page in pages for column in page for piece in column)
    seen: Counter[str] = Counter()

    def number(piece: Piece) -> Piece:
        seen[piece.group.key] += 1
        return piece._replace(part=seen[piece.group.key] - 1, parts=counts[piece.group.key])

    return tuple(tuple(tuple(map(number, column)) for column in page) for page in pages)
