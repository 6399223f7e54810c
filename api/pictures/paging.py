"""How a picture goes on over sheets of A4: by rows, each on exactly one page.

A sheet is never enlarged and made smaller only down to 0.75, where the smallest text prints as 6.8 points. What
counts is lines: a row says how many lines of text it has, and a page takes so many. Nothing is measured here; the
tests hold that every page of every picture keeps to its scale.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, Generic, Literal, NamedTuple, TypeVar

from ontology.errors import NewelError

Layout = Literal["screen", "paper"]
Row = TypeVar("Row")

#: Lines of text, each a row of its own, that a page holds below its title and above legend and notes: upright for
#: pictures up to 690 points wide (a list, a table), across for pictures up to 1,030 points (a graph).
LINES_UPRIGHT: Final = 44
LINES_ACROSS: Final = 27


class PageError(NewelError):
    """A picture has no such page."""

    def __init__(self, page: int, pages: int) -> None:
        super().__init__(f"This picture has {pages} page(s); there is no page {page}.", page=page, pages=pages)
        self.pages = pages


class Sheet(NamedTuple):
    """Which page of how many; a screen has one and is no paper."""

    page: int = 1
    pages: int = 1
    is_paper: bool = False

    @property
    def words(self) -> str:
        """What the title says of it.

        Examples
        --------
        >>> Sheet(2, 3, True).words, Sheet().words
        (', page 2 of 3', '')
        """
        return f", page {self.page} of {self.pages}" if self.pages > 1 else ""


SCREEN: Final = Sheet()


class Part(NamedTuple, Generic[Row]):
    """The rows of one page, and the sheet they stand on; `start` is the place of the first of them in the whole."""

    rows: tuple[Row, ...]
    sheet: Sheet
    start: int = 0


def split_rows(rows: Sequence[Row], lines: float, count: Callable[[Row], float] = lambda _: 1) -> list[tuple[Row, ...]]:
    """Return the rows of each page, filled one after the other: see `take_page`.

    Examples
    --------
    >>> split_rows("abc", 2), split_rows("", 2)
    ([('a', 'b'), ('c',)], [()])
    """
    pages: list[list[Row]] = [[]]
    taken = 0.0
    for item in rows:
        needed = count(item)
        if pages[-1] and taken + needed > lines:
            pages.append([])
            taken = 0
        taken += needed
        pages[-1].append(item)
    return [tuple(page) for page in pages]


def choose_sheet(pages: int, layout: Layout, page: int) -> Sheet:
    """Return the sheet of a page, 1 on a screen; raises `PageError`."""
    pages = pages if layout == "paper" else 1
    if not 1 <= page <= pages:
        raise PageError(page, pages)
    return Sheet(page, pages, layout == "paper")


def take_page(
    rows: Sequence[Row],
    layout: Layout,
    page: int = 1,
    *,
    lines: float = LINES_UPRIGHT,
    count: Callable[[Row], float] = lambda _: 1,
) -> Part[Row]:
    """Return the rows that stand on a page, filled one after the other; all of them on a screen.

    A page holds so many `lines`, a row takes as many as `count` says; one that takes more has a page of its own, and
    an empty picture has one page. Raises `PageError`. O(k) for k rows.

    Examples
    --------
    >>> take_page("abcde", "paper", 2, lines=2)
    Part(rows=('c', 'd'), sheet=Sheet(page=2, pages=3, is_paper=True), start=2)
    """
    parts = split_rows(rows, lines, count) if layout == "paper" else [tuple(rows)]
    sheet = choose_sheet(len(parts), layout, page)
    return Part(parts[page - 1], sheet, sum(map(len, parts[: page - 1])))
