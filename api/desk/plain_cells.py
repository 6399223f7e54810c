"""A cell of a sheet as plain text: what the terminal prints, and what a workbook holds where it knows no such kind."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from api.desk.sheet import ActLink, Cell, Level, Quantity, Ref, Refs, Span, State

DASH = "–"
#: A day in the text of an answer.
WRITTEN_DAY: Final = re.compile(r"(?<![\w-])(\d{4}-\d\d-\d\d)(?![\w-])", re.ASCII)
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def get_separator(names: Iterable[str]) -> str:
    """Return what stands between names in a line: a semicolon where one has a comma of its own.

    Examples
    --------
    >>> get_separator(["A", "B"]), get_separator(["Limits, permits", "Oil"])
    (', ', '; ')
    """
    return "; " if any(", " in name for name in names) else ", "


def line_up(names: Sequence[str]) -> str:
    """Return names in a line.

    Examples
    --------
    >>> line_up(["A", "B"]), line_up(["Limits, permits", "Oil"])
    ('A, B', 'Limits, permits; Oil')
    """
    return get_separator(names).join(names)


def format_number(cell: Quantity) -> str:
    """Return a number without needless decimals.

    Examples
    --------
    >>> format_number(Quantity(1234.5)), format_number(Quantity(3.0)), format_number(Quantity(2, is_signed=True))
    ('1,234.5', '3', '+2')
    """
    if cell.value is None:
        return DASH
    sign = "+" if cell.is_signed else ""
    text = f"{cell.value:{sign},.{cell.decimals}f}"
    return text.rstrip("0").removesuffix(".") if "." in text else text


def format_cell(cell: Cell) -> str:
    """Return a cell as one would read it aloud, with its unit."""
    match cell:
        case None:
            return DASH
        case bool():
            return "yes" if cell else "no"
        case Ref():
            return cell.name
        case ActLink():
            return cell.words
        case Refs():
            return line_up([ref.name for ref in cell.items]) or cell.none
        case Quantity():
            return f"{format_number(cell)} {cell.unit}".strip() if cell.value is not None else DASH
        case Span():
            return f"{cell.first} to {cell.last}" if cell.last is not None else f"from {cell.first} on"
        case Level():
            if cell.rank is None:
                return "not assessed"
            return f"{cell.rank} {cell.label}".strip()
        case State():
            return cell.word
        case dt.date():
            return cell.isoformat()
    return str(cell)


def say_day(day: dt.date) -> str:
    """Return a day as a text says it.

    Examples
    --------
    >>> say_day(dt.date(2026, 11, 24))
    '24 November 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year:04}"


def say_days(text: str, say: Callable[[dt.date], str] = say_day) -> str:
    """Return a text with the days in it written out.

    Examples
    --------
    >>> say_days("short until 2026-12-07"), say_days("no day: 2026-02-30")
    ('short until 7 December 2026', 'no day: 2026-02-30')
    """
    return WRITTEN_DAY.sub(lambda found: _say_found(found[0], say), text) if "-" in text else text


def _say_found(text: str, say: Callable[[dt.date], str]) -> str:
    try:
        return say(dt.date.fromisoformat(text))
    except ValueError:
        return text


def say_month_of_year(month: str) -> str:
    """Return a month like 2026-11 as a column says it.

    Examples
    --------
    >>> say_month_of_year("2026-11")
    'Nov 2026'
    """
    year, _, number = month.partition("-")
    return f"{_MONTHS[int(number) - 1][:3]} {year}"


def say_month(day: dt.date) -> str:
    """Return a day as a narrow column says it.

    Examples
    --------
    >>> say_month(dt.date(2026, 9, 4))
    '4 Sep 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1][:3]} {day.year:04}"
