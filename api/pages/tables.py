"""A table of a sheet as HTML."""

from __future__ import annotations

from html import escape

from markupsafe import Markup

from api.desk.sheet import Table
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
    begins = [begin_cell(name, is_head=not at, is_number=table.columns[at].is_number) for at, name in enumerate(names)]
    have_units = [bool(column.unit) for column in table.columns]
    rows = []
    for row in table.rows:
        parts = []
        for value, begin, has_unit in zip(row, begins, have_units, strict=True):
            if value == "" and not table.is_signed:
                value = None
            parts.append(begin if value == "" else f"{begin}<span>{build_cell(value, has_unit, is_linked)}</span>")
        # the first of the cells is the row's head
        rows.append(f'<tr role="row">{parts[0]}</th>{"</td>".join(parts[1:])}{"</td>" if len(parts) > 1 else ""}</tr>')
    title = escape(table.title)
    window = f'<div class="grid" tabindex="0" role="region" aria-label="{title}">' if is_grid else '<div class="rows">'
    framed = build_frame(title, heads, rows, "" if is_grid else "cards")
    note = f'<p class="note">{build_prose(table.note)}</p>\n' if table.note else ""
    return Markup(f"{window}{framed}</div>\n{note}")
