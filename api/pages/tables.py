"""A table of a sheet as HTML."""

from __future__ import annotations

from html import escape
from typing import NamedTuple

from markupsafe import Markup

from api.desk.sheet import Cell, KeptRow, Table
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
    begins = tuple(
        [
            (begin_cell(name, is_head=not at, is_number=c.is_number), bool(c.unit))
            for at, (name, c) in enumerate(zip(names, table.columns, strict=True))
        ]
    )
    how = _How(begins, table.is_signed, is_linked, f"{table.is_signed} {is_linked} {begins}")
    rows = [_write_row(row, how) for row in table.rows]
    title = escape(table.title)
    window = f'<div class="grid" tabindex="0" role="region" aria-label="{title}">' if is_grid else '<div class="rows">'
    framed = build_frame(build_prose(table.title), heads, rows, "" if is_grid else "cards")
    note = f'<p class="note">{build_prose(table.note)}</p>\n' if table.note else ""
    return Markup(f"{window}{framed}</div>\n{note}")


class _How(NamedTuple):
    """How rows are written: how each cell begins and whether its heading names the unit; with lines to sign, links.

    `told` says all of that: what is kept by it is found by a text that is compared at once.
    """

    begins: tuple[tuple[str, bool], ...]
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
        begin
        # a line to write in by hand
        if value == "" and is_signed
        else f"{begin}<span>{build_cell(None if value == '' else value, has_unit, is_linked)}</span>"
        for value, (begin, has_unit) in zip(row, begins, strict=True)
    ]
    # the first of the cells is the row's head
    return f'<tr role="row">{parts[0]}</th>{"</td>".join(parts[1:])}{"</td>" if len(parts) > 1 else ""}</tr>'
