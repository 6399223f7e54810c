"""A table of a sheet as HTML; on a narrow screen each row becomes a card, and stays a row to who hears it.

Written by hand and not by a template, which would take several times as long: a page is little else than tables.
"""

from __future__ import annotations

from html import escape

from markupsafe import Markup

from api.desk.sheet import Column, Table
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
    title = escape(table.title)
    window = f'<div class="grid" tabindex="0" role="region" aria-label="{title}">' if is_grid else '<div class="rows">'
    caption = f'<caption class="unseen">{title}</caption>\n' if table.title else ""
    kind = "" if is_grid else ' class="cards"'
    heads = "".join([_build_head(column) for column in table.columns])
    begins = [_begin_cell(column, at) for at, column in enumerate(table.columns)]
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
    body = "\n".join(rows)
    note = f'<p class="note">{build_prose(table.note)}</p>\n' if table.note else ""
    return Markup(
        f'{window}<table role="table"{kind}>\n{caption}'
        f'<thead role="rowgroup"><tr role="row">{heads}</tr></thead>\n'
        f'<tbody role="rowgroup">\n{body}\n</tbody></table></div>\n{note}'
    )


def _build_head(column: Column) -> str:
    return f'<th role="columnheader" scope="col"{_get_kind(column)}>{_build_name(column)}</th>'


def _begin_cell(column: Column, at: int) -> str:
    tag = '<td role="cell"' if at else '<th role="rowheader" scope="row"'
    return f'{tag}{_get_kind(column)} data-column="{_build_name(column)}">'


def _get_kind(column: Column) -> str:
    return ' class="count"' if column.is_number else ""


def _build_name(column: Column) -> str:
    return escape(f"{column.name} ({column.unit})" if column.unit else column.name)
