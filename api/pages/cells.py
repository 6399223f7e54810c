"""A cell of a sheet as HTML: names lead to their pages, days are days to machines too, states have a mark.

Written by hand and not by a template: a page may hold thousands of cells.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Final

from markupsafe import Markup, escape

from api.desk.plain_cells import DASH, format_cell, format_number
from api.desk.sheet import Cell, Column, Quantity, Ref, Refs, Span, State
from api.pages.addresses import build_record_address

__all__ = ["say_day", "say_month", "write_cell", "write_day", "write_prose", "write_short_day", "write_state"]

_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_DAY: Final = re.compile(r"(?<![\w-])(\d{4}-\d\d-\d\d)(?![\w-])", re.ASCII)


def say_day(day: dt.date) -> str:
    """Return a day as a text says it.

    Examples
    --------
    >>> say_day(dt.date(2026, 11, 24))
    '24 November 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year:04}"


def say_month(day: dt.date) -> str:
    """Return a day as a narrow column says it.

    Examples
    --------
    >>> say_month(dt.date(2026, 9, 4))
    '4 Sep 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1][:3]} {day.year:04}"


def write_day(day: dt.date | None) -> Markup:
    """Return a day in a text; a dash where there is none."""
    return _write_time(day, say_day(day)) if day is not None else Markup(DASH)


def write_short_day(day: dt.date | None) -> Markup:
    """Return a day in a column; a dash where there is none."""
    return _write_time(day, say_month(day)) if day is not None else Markup(DASH)


def _write_time(day: dt.date, words: str) -> Markup:
    return Markup('<time datetime="{}">{}</time>').format(day.isoformat(), words)


def write_prose(text: str) -> Markup:
    """Return a sentence with its days written out.

    Examples
    --------
    >>> str(write_prose("Short until 2026-12-07 & later."))
    'Short until <time datetime="2026-12-07">7 December 2026</time> &amp; later.'
    """
    parts = _DAY.split(text)
    written = [escape(part) if at % 2 == 0 else _write_iso(part) for at, part in enumerate(parts)]
    return Markup("").join(written)


def _write_iso(text: str) -> Markup:
    try:
        return write_day(dt.date.fromisoformat(text))
    except ValueError:
        return escape(text)


def write_state(code: str, word: str, was: str = "", meaning: str = "") -> Markup:
    """Return a state: a mark, its word, and the word it had before where that differs."""
    mark = Markup('<span class="state {}"{}><i></i><b>{}</b></span>')
    title = Markup(' title="{}"').format(meaning) if meaning else ""
    told = mark.format(code, title, word)
    return told + Markup('<small class="was">was {}</small>').format(was) if was else told


def write_cell(cell: Cell, column: Column | None = None, is_linked: bool = True) -> Markup:
    """Return a cell; a number without the unit that its column's heading names. In a file nothing is linked."""
    match cell:
        case Ref():
            return _write_ref(cell) if is_linked else escape(cell.name)
        case Refs() if cell.items and is_linked:
            return Markup(", ").join(_write_ref(ref) for ref in cell.items)
        case State():
            return write_state(cell.code, cell.word, "", cell.meaning)
        case Span():
            first = write_short_day(cell.first)
            last = cell.last
            return first + Markup(" to ") + write_short_day(last) if last else Markup("from ") + first + Markup(" on")
        case dt.date():
            return write_short_day(cell)
        case Quantity() if column is not None and column.unit and cell.value is not None:
            return escape(format_number(cell))
        case str():
            return write_prose(cell)
    return escape(format_cell(cell))


def _write_ref(ref: Ref) -> Markup:
    return Markup('<a href="{}">{}</a>').format(build_record_address(ref.table, ref.id), write_prose(ref.name))
