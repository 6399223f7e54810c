"""A table whose rows become cards on a narrow screen, and stay rows to who hears it.

Written by hand and not by a template, which would take several times as long: a page is little else than tables.
"""

from __future__ import annotations

from collections.abc import Sequence

from api.pages.cells import build_prose, escape_text

__all__ = ["begin_cell", "build_frame", "build_head"]


def build_frame(caption: str, heads: Sequence[str], rows: Sequence[str], kind: str = "cards") -> str:
    """Return a table of heads and rows that are HTML already; a caption is HTML, too, and only heard.

    Examples
    --------
    >>> print(build_frame("Who", [build_head("name")], ["<tr></tr>"], "cards who"))
    <table role="table" class="cards who">
    <caption class="unseen">Who</caption>
    <thead role="rowgroup"><tr role="row"><th role="columnheader" scope="col">name</th></tr></thead>
    <tbody role="rowgroup">
    <tr></tr>
    </tbody></table>
    """
    told = f'<caption class="unseen">{caption}</caption>\n' if caption else ""
    classes = f' class="{kind}"' if kind else ""
    body = "\n".join(rows)
    return (
        f'<table role="table"{classes}>\n{told}<thead role="rowgroup"><tr role="row">{"".join(heads)}</tr></thead>\n'
        f'<tbody role="rowgroup">\n{body}\n</tbody></table>'
    )


def build_head(name: str, *, is_number: bool = False) -> str:
    """Return the heading of a column."""
    return f'<th role="columnheader" scope="col"{_get_kind(is_number)}>{build_prose(name)}</th>'


def begin_cell(name: str, *, is_head: bool = False, is_number: bool = False) -> str:
    """Return how a cell of a column begins, up to what it holds: as a card it says the column's name, like a heading.

    Examples
    --------
    >>> begin_cell("rests on")
    '<td role="cell" data-column="Rests on">'
    """
    tag = '<th role="rowheader" scope="row"' if is_head else '<td role="cell"'
    return f'{tag}{_get_kind(is_number)} data-column="{escape_text(name[:1].upper() + name[1:])}">'


def _get_kind(is_number: bool) -> str:
    return ' class="count"' if is_number else ""
