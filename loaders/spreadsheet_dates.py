"""Dates in workbooks: numbers of days with a format, or ISO text. Imports cells.

ECMA-376 Part 1, 18.17.4 (date systems) and 18.8.30 (number formats, built-in and custom).
"""

from __future__ import annotations

import math
import re
from datetime import datetime, timedelta
from typing import Final

from loaders.cells import FaultyCell

_BUILT_IN: Final = frozenset(map(str, (*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59))))
#: Quoted text, an escaped or repeated character, a colour or condition: none of them makes a date.
_NO_CODE: Final = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!h+\]|m+\]|s+\])[^\]]*\]', re.IGNORECASE)
_EPOCH_1900: Final = datetime(1899, 12, 30)
_EPOCH_1904: Final = datetime(1904, 1, 1)
#: Serials below this are a day off, since the 1900 system counts a 29 February 1900.
_AFTER_GAP: Final = 60


def is_date_format(number: str, code: str) -> bool:
    """Whether a number format shows dates or times.

    Examples
    --------
    >>> is_date_format("14", ""), is_date_format("164", "yyyy-mm-dd;@"), is_date_format("164", '0.0 "days"')
    (True, True, False)
    """
    if not code:
        return number in _BUILT_IN
    first = _NO_CODE.sub("", code).partition(";")[0]
    return re.search("[dmyhs]", first, re.IGNORECASE) is not None and first.lower() != "general"


def convert_serial(number: float, *, is_1904: bool = False) -> datetime | FaultyCell:
    """Return the day and time of a serial number, to the second.

    Examples
    --------
    >>> convert_serial(46350), convert_serial(1)
    (datetime.datetime(2026, 11, 24, 0, 0), datetime.datetime(1900, 1, 1, 0, 0))
    """
    if not math.isfinite(number):
        return FaultyCell(str(number), "is no date")
    epoch = _EPOCH_1904 if is_1904 else _EPOCH_1900
    days = number + 1 if not is_1904 and 1 <= number < _AFTER_GAP else number
    try:
        return epoch + timedelta(seconds=round(days * 86_400))
    except OverflowError:
        return FaultyCell(f"{number:g}", "is no date: the number is out of the calendar")


def parse_iso(text: str) -> datetime | str:
    """Return the day and time of ISO text, or the text where it is none."""
    try:
        return datetime.fromisoformat(text.strip()).replace(tzinfo=None)
    except ValueError:
        return text
