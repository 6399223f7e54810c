"""Levels as a table with rulers: what each rests on, until when it counts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from html import escape
from typing import Final

from markupsafe import Markup

from api.desk.bounded import find_kept
from api.pages.cards import begin_cell, build_frame, build_head
from api.pages.cells import build_link, build_short_day, build_state, escape_text
from api.pages.level_rows import LevelRow, Written

__all__ = ["write_level_table"]

#: Rows of levels that are kept as they are written, about a kilobyte each.
_MOST_WRITTEN: Final = 4_000
_COLUMNS: Final = ("Competency", "Level", "Rests on", "Counts until")
_HEADS: Final = [build_head(name) for name in _COLUMNS]
_COMPETENCY, _LEVEL, _RESTS_ON, _UNTIL = (begin_cell(name, is_head=name == "Competency") for name in _COLUMNS)


def write_level_table(rows: Sequence[LevelRow], caption: str, written: Written) -> Markup:
    """Return the table of some levels; a row that was written already is taken from there: it says all of it."""
    told = [find_kept(written, row, _MOST_WRITTEN, partial(_build_row, row)) for row in rows]
    framed = build_frame(escape(caption), _HEADS, told, "cards levels")
    return Markup(f'<div class="rows">{framed}</div>')


def _build_row(row: LevelRow) -> str:
    necessity = f"<small>{row.necessity}</small>" if row.necessity else ""
    state = build_state(*row.state) if row.state[0] else ""
    day = f"{build_short_day(row.day)}, " if row.day else ""
    return (
        f'<tr role="row">{_COMPETENCY}<span>{build_link(row.competency)}{necessity}</span></th>\n'
        f"{_LEVEL}<span>{row.ruler}{state}</span></td>\n"
        f"{_RESTS_ON}<span>{escape_text(row.rests)}<small>{day}{escape_text(row.detail)}</small></span></td>\n"
        f"{_UNTIL}<span>{_build_until(row)}</span></td></tr>"
    )


def _build_until(row: LevelRow) -> str:
    if row.until is None:
        return row.no_day
    return build_short_day(row.until) + (f"<small>{row.then}</small>" if row.then else "")
