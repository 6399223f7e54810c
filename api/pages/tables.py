"""A table of a sheet as HTML."""

from __future__ import annotations

from html import escape
from typing import NamedTuple

from markupsafe import Markup

from api.desk.sheet import Cell, Column, KeptRow, Table
from api.pages.cards import begin_cell, build_frame, build_head
from api.pages.cells import build_cell, build_prose

__all__ = ["write_table"]


def write_table(table: Table, is_linked: bool = True, is_grid: bool = False) -> Markup:
    """Return a table, or what is said where it has no rows.

    Parameters
    ----------
    table : Table
    is_linked : bool
        In a file nothing is.
    is_grid : bool
        It is read across and down, and scrolls with its first column in place.

    Notes
    -----
    O(cells).
    """
    if not table.rows:
        return Markup(f'<p class="empty">{build_prose(table.empty)}</p>\n')
    names = [f"{column.name} ({column.unit})" if column.unit else column.name for column in table.columns]
    heads = [build_head(name, is_number=c.is_number) for name, c in zip(names, table.columns, strict=True)]
    # what counts the rows says nothing of them: as a card, too, a row is headed by what it is about
    head = next((at for at, column in enumerate(table.columns) if not column.is_place), 0)
    begins = tuple(
        [
            _begin(name, column, is_head=at == head)
            for at, (name, column) in enumerate(zip(names, table.columns, strict=True))
        ]
    )
    how = _How(begins, table.is_signed, is_linked, f"{table.is_signed} {is_linked} {begins}")
    rows = [_write_row(row, how) for row in table.rows]
    title = escape(table.title)
    window = f'<div class="grid" tabindex="0" role="region" aria-label="{title}">' if is_grid else '<div class="rows">'
    framed = build_frame(build_prose(table.title), heads, rows, "" if is_grid else "cards")
    note = f'<p class="note">{build_prose(table.note)}</p>\n' if table.note else ""
    return Markup(f"{window}{framed}</div>\n{note}")


def _begin(name: str, column: Column, *, is_head: bool) -> tuple[str, str, bool]:
    """Return how a column's cells begin and end, and whether its heading names the unit."""
    begin = begin_cell(name, is_head=is_head, is_number=column.is_number)
    return begin, "</th>" if is_head else "</td>", bool(column.unit)


class _How(NamedTuple):
    """How rows are written: how each cell begins and ends, whether its heading names the unit; lines to sign, links.

    `told` says all of that: what is kept by it is found by a text that is compared at once.
    """

    begins: tuple[tuple[str, str, bool], ...]
    is_signed: bool
    is_linked: bool
    told: str


def _write_row(row: tuple[Cell, ...], how: _How) -> str:
    if not isinstance(row, KeptRow):
        return _build_row(row, how)
    written = row.written.get(how.told)
    if written is None:
        written = row.written[how.told] = _build_row(row, how)
    return written


def _build_row(row: tuple[Cell, ...], how: _How) -> str:
    begins, is_signed, is_linked, _ = how
    parts = [
        begin + end
        # a line to write in by hand
        if value == "" and is_signed
        else f"{begin}<span>{build_cell(None if value == '' else value, has_unit, is_linked)}</span>{end}"
        for value, (begin, end, has_unit) in zip(row, begins, strict=True)
    ]
    return f'<tr role="row">{"".join(parts)}</tr>'
