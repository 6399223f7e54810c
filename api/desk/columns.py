"""A table said once: each column's heading beside what fills it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from api.desk.sheet import Cell, Column, Quantity, Table

_R = TypeVar("_R")


@dataclass(frozen=True, slots=True)
class Filled(Generic[_R]):
    """A column, and what makes its cell of a row."""

    column: Column
    get: Callable[[_R], Cell]


def words(name: str, get: Callable[[_R], Cell], *, is_number: bool = False) -> Filled[_R]:
    """Return a column of names, days, states: whatever is read; `is_number` sets it as numbers are set."""
    return Filled(Column(name, is_number=is_number), get)


def number(
    name: str,
    get: Callable[[_R], float | int | None],
    unit: str = "",
    *,
    decimals: int = 1,
    is_signed: bool = False,
) -> Filled[_R]:
    """Return a column of numbers of one unit, which the heading names."""
    return Filled(
        Column(name, unit, is_number=True), lambda row: Quantity(get(row), decimals=decimals, is_signed=is_signed)
    )


def ordinal(get: Callable[[_R], int | None]) -> Filled[_R]:
    """Return a column that counts the rows."""
    return Filled(Column("no.", is_number=True, is_place=True), lambda row: Quantity(get(row)))


def build_table(
    title: str,
    rows: Iterable[_R],
    columns: Iterable[Filled[_R]],
    empty: str = "",
    note: str = "",
    *,
    is_signed: bool = False,
) -> Table:
    """Return the table of some rows; `empty` is said where there are none; `is_signed` as that of a table.

    Examples
    --------
    >>> table = build_table("Sums", [2, 3], (words("of", str), number("twice", lambda n: 2 * n, "h")), "Nothing.")
    >>> [column.name for column in table.columns], [row[0] for row in table.rows]
    (['of', 'twice'], ['2', '3'])
    """
    filled = tuple(columns)
    cells = tuple(tuple(column.get(row) for column in filled) for row in rows)
    return Table(title, tuple(column.column for column in filled), cells, empty, note, is_signed=is_signed)


def build_if_any(title: str, rows: Sequence[_R], columns: Iterable[Filled[_R]], note: str = "") -> tuple[Table, ...]:
    """Return the table of some rows; none where there are none."""
    return (build_table(title, rows, columns, note=note),) if rows else ()
