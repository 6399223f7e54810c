"""Sets of days as spans between first and last day, so that nothing is asked day by day. Pure.

A day is its proleptic ordinal. `BEFORE` stands before the first day of the calendar: a span that begins there has no
beginning that is known. A span without an end ends on the last day of the calendar.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

__all__ = ["BEFORE", "LAST", "Span", "Spans", "find_span", "has_day", "intersect", "make_span", "merge", "subtract"]

#: First and last day, both inclusive.
Span = tuple[int, int]
#: Sorted; no two of them touch.
Spans = tuple[Span, ...]

BEFORE: Final = 0
LAST: Final = date.max.toordinal()


def make_span(first: date | None, last: date | None) -> Span:
    """Return a span; None as its first day is a beginning that is not known, None as its last one no end."""
    return (BEFORE if first is None else first.toordinal(), LAST if last is None else last.toordinal())


def merge(spans: Iterable[Span]) -> Spans:
    """Return the days that are in any of some spans. O(n log n).

    Examples
    --------
    >>> merge([(7, 9), (1, 3), (4, 5), (2, 2), (12, 11)])
    ((1, 5), (7, 9))
    """
    found: list[Span] = []
    for first, last in sorted(spans):
        if first > last:
            continue
        if found and first <= found[-1][1] + 1:
            if last > found[-1][1]:
                found[-1] = (found[-1][0], last)
        else:
            found.append((first, last))
    return tuple(found)


def intersect(one: Spans, other: Spans) -> Spans:
    """Return the days that are in both. O(n m): each has a few spans."""
    return tuple([(max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) <= min(b, d)])


def subtract(one: Spans, other: Spans) -> Spans:
    """Return the days of the first that are not in the second. O(n + m).

    Examples
    --------
    >>> subtract(((1, 9), (20, 30)), ((3, 4), (8, 22)))
    ((1, 2), (5, 7), (23, 30))
    """
    if not other:
        return one
    found: list[Span] = []
    for first, last in one:
        start = first
        for gone_first, gone_last in other:
            if gone_last < start or gone_first > last:
                continue
            if gone_first > start:
                found.append((start, gone_first - 1))
            start = gone_last + 1
        if start <= last:
            found.append((start, last))
    return tuple(found)


def find_span(spans: Spans, day: int) -> Span | None:
    """Return the span that holds a day, or None."""
    for span in spans:
        if span[0] <= day <= span[1]:
            return span
    return None


def has_day(spans: Spans, first: int, last: int) -> bool:
    """Whether any day from the first to the last is among them."""
    for span in spans:  # noqa: SIM110 - a generator takes three times as long, and every row of a company asks this
        if span[0] <= last and first <= span[1]:
            return True
    return False
