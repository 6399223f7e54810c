"""How cards are spread over sheets: groups in columns and bands, as few pages as possible. Imports style, text.

Sizes are estimated from the wrapped text, a little too large rather than too small: the DOT text is the same where
the program dot is missing, and no text has to shrink below its size when the page is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final, Literal

from api.diagrams import style
from api.diagrams.cards import Line
from api.diagrams.text import wrap
from ontology.errors import NewelError

Layout = Literal["screen", "paper"]

#: Points between two cards of a column, and between two columns.
ROW_GAP: Final = 13
COLUMN_GAP: Final = 9
#: Outer width of a card on a sheet, in points, and what its lines may hold.
CARD_OUTER: Final = 166
CARD_INNER: Final = 144
NAME_COLUMNS: Final = 22
NOTE_COLUMNS: Final = 29
_RULER_HEIGHT: Final = 20
_LONGEST_COLUMN: Final = 14


class PageError(NewelError):
    """A picture has no such page."""

    def __init__(self, page: int, pages: int) -> None:
        super().__init__(f"This picture has {pages} page(s); there is no page {page}.", page=page, pages=pages)
        self.pages = pages


@dataclass(frozen=True, slots=True)
class Cell:
    """One card on a sheet; `pen` is how the line that leads to it looks."""

    name: str
    rows: tuple[Line | str, ...]
    colour: str
    tooltip: str
    link: str = ""
    pen: style.Mark | None = None
    is_dashed: bool = False
    border_width: float = 1
    mark: str = ""

    @property
    def height(self) -> float:
        """Estimated height in points."""
        return 6 + sum(_RULER_HEIGHT if isinstance(row, str) else measure_line(row) for row in self.rows)


@dataclass(frozen=True, slots=True)
class Group:
    """Cards that stand below one heading; with arrows where each makes the next possible."""

    key: str
    words: str
    cells: tuple[Cell, ...]
    colour: str = style.LINE
    link: str = ""
    has_arrows: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A group, or a piece of one, as it stands on a page."""

    group: Group
    cells: tuple[Cell, ...]
    piece: int = 0
    pieces: int = 1

    @property
    def words(self) -> str:
        """The heading: a group that is broken says so."""
        more = f", part {self.piece + 1} of {self.pieces}" if self.pieces > 1 else ""
        return self.group.words + more

    @property
    def heading(self) -> Line:
        """The heading as a line."""
        return Line(self.words, style.TEXT_PT, bold=True, columns=NAME_COLUMNS + 3, max_lines=8)


@dataclass(frozen=True, slots=True)
class Band:
    """Columns that stand side by side below one another's headings."""

    columns: tuple[Column, ...]

    @property
    def height(self) -> float:
        """Estimated height in points: every row is as tall as its tallest card."""
        rows = max(len(column.cells) for column in self.columns)
        total = max(measure_line(column.heading) for column in self.columns) + 6 + ROW_GAP
        for row in range(rows):
            total += ROW_GAP + max(column.cells[row].height for column in self.columns if row < len(column.cells))
        return total


@dataclass(frozen=True, slots=True)
class Format:
    """A sheet: its size and what fits on it, in points."""

    name: str
    width: float
    height: float
    columns: int
    heading_columns: int

    @property
    def room(self) -> float:
        """Height between the margins."""
        return self.height - 2 * style.PAGE_MARGIN_PT


PORTRAIT: Final = Format("A4 portrait", *style.PAGES_PT["A4 portrait"], columns=3, heading_columns=88)
LANDSCAPE: Final = Format("A4 landscape", *style.PAGES_PT["A4 landscape"], columns=4, heading_columns=132)
#: As wide as a wide screen, and as tall as it must be.
SCREEN: Final = Format("screen", 1280, 1e6, columns=6, heading_columns=150)


@dataclass(frozen=True, slots=True)
class Plan:
    """Which bands stand on which page of which format."""

    format: Format
    pages: tuple[tuple[Band, ...], ...] = field(default=())

    @property
    def taken(self) -> float:
        """Estimated height of all bands in points."""
        return sum(band.height for page in self.pages for band in page)


@lru_cache(maxsize=20_000)
def measure_line(line: Line) -> float:
    """Return the estimated height of a line as a row of a card, in points."""
    return len(wrap(line.text, line.columns, line.max_lines)) * line.size_pt * 1.22 + 3.5


def plan_pages(groups: Sequence[Group], formats: Sequence[tuple[Format, float]]) -> Plan:
    """Return the plan with the fewest pages, then the fewest broken groups, then the least empty paper.

    Parameters
    ----------
    groups : sequence of Group
        In the order they are read.
    formats : sequence of (Format, float)
        Formats to choose from, the preferred first, with the points their headings take.

    Notes
    -----
    Tries every column length up to 14: O(14 f k) for f formats and k cards.
    """
    plans = [
        plan
        for sheet, taken in formats
        for longest in range(1, _LONGEST_COLUMN + 1)
        if (plan := _fill(groups, sheet, taken, longest)) is not None
    ]
    return min(
        enumerate(plans), key=lambda item: (len(item[1].pages), _count_pieces(item[1]), _waste(item[1]), item[0])
    )[1]


def _count_pieces(plan: Plan) -> int:
    """Return the number of columns: a group is broken no more often than the page asks."""
    return sum(len(band.columns) for page in plan.pages for band in page)


def _waste(plan: Plan) -> float:
    """Return the area taken, in thousands of square points: the flatter plan wins, so that columns stay balanced."""
    return round(plan.taken * plan.format.width / 1000)


def _fill(groups: Sequence[Group], sheet: Format, taken: float, longest: int) -> Plan | None:
    pages: list[list[Band]] = [[]]
    free = sheet.room - taken
    columns = list(_iterate_columns(groups, longest))
    for start in range(0, len(columns), sheet.columns):
        band = Band(tuple(columns[start : start + sheet.columns]))
        if band.height > free and pages[-1]:
            pages.append([])
            free = sheet.room - taken
        # a band taller than a page: shorter columns are tried instead
        if band.height > free and longest > 1:
            return None
        pages[-1].append(band)
        free -= band.height
    return Plan(sheet, tuple(tuple(page) for page in pages))


def _iterate_columns(groups: Sequence[Group], longest: int) -> Iterator[Column]:
    for group in groups:
        pieces = -(-len(group.cells) // longest)
        # pieces of about the same length
        bounds = [round(piece * len(group.cells) / pieces) for piece in range(pieces + 1)] if pieces else []
        for piece in range(pieces):
            yield Column(group, group.cells[bounds[piece] : bounds[piece + 1]], piece, pieces)
