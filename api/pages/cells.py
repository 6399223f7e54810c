"""A cell of a sheet as HTML: names lead to their pages, days are days to machines too, states have a mark.

Written by hand and not by a template: a page may hold thousands of cells. Inside, HTML is plain text that is escaped
where it comes in; what leaves for a template is marked as written.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from functools import lru_cache
from html import escape
from typing import Final

from markupsafe import Markup

from api.desk.plain_cells import DASH, WRITTEN_DAY, format_cell, format_number, get_separator, say_day, say_month
from api.desk.sheet import ActLink, Cell, Column, Level, Quantity, Ref, Refs, Span, State
from api.pages.addresses import build_record_address

__all__ = [
    "build_cell",
    "build_link",
    "build_prose",
    "build_short_day",
    "build_state",
    "escape_text",
    "say_day",
    "say_month",
    "write_cell",
    "write_day",
    "write_prose",
    "write_short_day",
    "write_state",
]

#: Letters of a word that finds room in every column; of a longer one, how many stand together.
_LONGEST_WORD: Final = 24
_PART: Final = 12
_LONG_WORD: Final = re.compile(rf"([^\s-]{{{_LONGEST_WORD + 1},}})")
_SPECIAL: Final = re.compile("[&<>\"']").search


def write_day(day: dt.date | None) -> Markup:
    """Return a day in a text; a dash where there is none."""
    return Markup(_build_day(day) if day is not None else DASH)


def write_short_day(day: dt.date | None) -> Markup:
    """Return a day in a column; a dash where there is none."""
    return Markup(build_short_day(day) if day is not None else DASH)


def write_prose(text: str) -> Markup:
    """Return a sentence with its days written out, and places to break in a word that would widen its column.

    Examples
    --------
    >>> str(write_prose("Abwasserdruckrohrleitungsbau"))
    'Abwasserdruc<wbr>krohrleitung<wbr>sbau'
    >>> str(write_prose("Short until 2026-12-07 & later."))
    'Short until <time datetime="2026-12-07">7 December 2026</time> &amp; later.'
    """
    return Markup(build_prose(text))


def write_state(code: str, word: str, was: str = "", meaning: str = "") -> Markup:
    """Return a state: a mark, its word, and the word it had before where that differs."""
    return Markup(build_state(code, word, was, meaning))


def write_cell(cell: Cell, column: Column | None = None, is_linked: bool = True) -> Markup:
    """Return a cell; a number without the unit that its column's heading names. In a file nothing is linked."""
    return Markup(build_cell(cell, bool(column and column.unit), is_linked))


def build_cell(cell: Cell, has_unit: bool, is_linked: bool) -> str:
    """Return the HTML of a cell; `has_unit`: its column's heading names the unit already."""
    kind = type(cell)
    if kind is str:
        return build_prose(cell)  # type: ignore[arg-type]
    if kind is Ref:
        return build_link(cell) if is_linked else escape_text(cell.name)  # type: ignore[arg-type, union-attr]
    match cell:
        case None:
            return DASH
        case ActLink() if is_linked:
            return f'<a href="{escape(cell.address)}">{escape_text(cell.words)}</a>'
        case Level():
            return escape_text(format_cell(cell))
        case Refs() if cell.items and is_linked:
            return build_links(cell.items)
        case State():
            return build_state(cell.code, cell.word)
        case Span():
            first, last = build_short_day(cell.first), cell.last
            return f"from {first} on" if last is None else f"{first} to {build_short_day(last)}"
        case dt.date():
            return build_short_day(cell)
        case Quantity() if has_unit and cell.value is not None:
            return format_number(cell)
    return escape_text(format_cell(cell))


def build_prose(text: str) -> str:
    """Return the HTML of a sentence: days written out, and places to break in a word that would widen its column."""
    # most texts are short, or of short words
    if len(text) > _LONGEST_WORD and max(map(len, text.split()), default=0) > _LONGEST_WORD:
        return _build_breaking(text)
    return _build_days(text)


def _build_breaking(text: str) -> str:
    parts = _LONG_WORD.split(text)
    return "".join([_build_word(part) if at % 2 else _build_days(part) for at, part in enumerate(parts)])


def _build_word(word: str) -> str:
    return "<wbr>".join([escape_text(word[at : at + _PART]) for at in range(0, len(word), _PART)])


def _build_days(text: str) -> str:
    if "-" not in text:
        return escape_text(text)
    return "".join(
        [_build_iso(part) if at % 2 else escape_text(part) for at, part in enumerate(WRITTEN_DAY.split(text))]
    )


def escape_text(text: str) -> str:
    """Return a text as HTML; most have nothing to escape, and to look first takes half the time."""
    return escape(text) if _SPECIAL(text) else text


def _build_iso(text: str) -> str:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        return text
    return _build_day(day)


@lru_cache(maxsize=4096)
def _build_day(day: dt.date) -> str:
    return _build_time(day, say_day(day))


# the same few days stand on page after page
@lru_cache(maxsize=4096)
def build_short_day(day: dt.date) -> str:
    """Return the HTML of a day in a column."""
    return _build_time(day, say_month(day))


def _build_time(day: dt.date, words: str) -> str:
    return f'<time datetime="{day.isoformat()}">{words}</time>'


def build_state(code: str, word: str, was: str = "", meaning: str = "") -> str:
    """Return the HTML of a state, as `write_state`."""
    title = f' title="{escape(meaning)}"' if meaning else ""
    told = f'<span class="state {escape(code)}"{title}><i></i><b>{escape(word)}</b></span>'
    return f'{told}<small class="was">was {escape(was)}</small>' if was else told


def build_links(refs: Sequence[Ref]) -> str:
    """Return links in a line."""
    return get_separator([ref.name for ref in refs]).join([build_link(ref) for ref in refs])


def build_link(ref: Ref) -> str:
    """Return the HTML of a name that leads to its record."""
    # nothing of an address is left to escape
    return f'<a href="{build_record_address(ref.table, ref.id)}">{build_prose(ref.name)}</a>'
