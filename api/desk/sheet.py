"""What a person sees of an answer: one sheet, built once, written by the terminal, the page and the workbook.

Nothing is formatted here: a cell is a value with its kind, and each writer shows it as suits it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, Self


class Ref(NamedTuple):
    """A record, shown by its name: `name` is what people read, table and id lead to its page.

    A page holds hundreds, and a tuple is made in half the time.
    """

    table: str
    id: str
    name: str


class ActLink(NamedTuple):
    """What one can do about a row: the words, and the address of the page where it is done."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class Refs:
    """Several records; `none` stands where there are none."""

    items: tuple[Ref, ...]
    none: str = "–"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit ("h", "weeks", "people", "" for none); None is shown as a dash.

    `decimals` at the most; `is_signed` shows a plus.
    """

    value: float | int | None
    unit: str = ""
    decimals: int = 1
    is_signed: bool = False


@dataclass(frozen=True, slots=True)
class Span:
    """Days from the first to the last, both inclusive; `last` None where it stays open."""

    first: dt.date
    last: dt.date | None


@dataclass(frozen=True, slots=True)
class Level:
    """A level of a scale; `rank` None is not assessed, 0 none; `label` is the scale's own word."""

    rank: int | None
    label: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """A state word with a few words on what it means; `code` is the value in the JSON answer."""

    code: str
    word: str
    meaning: str = ""


Cell = str | int | float | bool | None | dt.date | Ref | ActLink | Refs | Quantity | Span | Level | State


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, with the unit where all cells share one; `is_number` sets it to the right.

    A column that counts the rows (`is_place`) stands first and is not what they are about.
    """

    name: str
    unit: str = ""
    is_number: bool = False
    is_place: bool = False

    @property
    def head(self) -> str:
        """The heading with its unit."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


class KeptRow(tuple[Cell, ...]):
    """A row that is shown again and again: what a writer made of it is kept with it, by how it was asked to write."""

    written: dict[str, str]

    def __new__(cls, cells: Iterable[Cell]) -> Self:
        """Return a row that nobody has written yet."""
        row = super().__new__(cls, cells)
        row.written = {}
        return row


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells, as many as columns; `empty` is said where there are none.

    A grid is read across and down: it stays one where there is little room, its first column in place. In a table that
    is signed, empty cells are lines to write in by hand.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    empty: str
    note: str = ""
    is_grid: bool = False
    is_signed: bool = False


@dataclass(frozen=True, slots=True)
class Steps:
    """Things in an order, each a row of cells read as one line."""

    title: str
    rows: tuple[tuple[Cell, ...], ...]
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """The question's own picture; `alternative` tells it in words."""

    alternative: str


@dataclass(frozen=True, slots=True)
class Piece:
    """Days on which something stands alike: how, and what brought it about."""

    state: State
    days: Span
    why: str = ""


@dataclass(frozen=True, slots=True)
class Strips:
    """How several things stand over the same days: for each its name, and its pieces day after day.

    A page draws a strip for each; all else writes the table.
    """

    title: str
    what: str
    rows: tuple[tuple[str, tuple[Piece, ...]], ...]

    @property
    def table(self) -> Table:
        """The same as a table, a row for each piece."""
        columns = (Column(self.what), Column("days"), Column("state"), Column("what brought it"))
        rows = tuple(
            (name, piece.days, piece.state, piece.why or "–") for name, pieces in self.rows for piece in pieces
        )
        return Table(self.title, columns, rows, "")


Part = Table | Steps | Note | Picture | Strips


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure beside the lead sentence: what it is, and its value."""

    name: str
    value: Cell


@dataclass(frozen=True, slots=True)
class Next:
    """What a person would ask next: the name of a question, the id of its subject, its parameters, and the words."""

    words: str
    question: str
    subject: str
    asked: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sheet:
    """An answer for people.

    `title` says what was asked of whom, `lead` is the answer in a sentence or two that could be said aloud.
    """

    title: str
    lead: str
    facts: tuple[Fact, ...] = ()
    parts: tuple[Part, ...] = ()
    next: tuple[Next, ...] = ()
    remarks: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
