"""From the days on which so many count to holes: the longest runs in which one more is missing, and since when. Pure.

May import causes, mends and the rows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Protocol

from ontology.analysis.outlook.cover_causes import Cause
from ontology.analysis.outlook.cover_mends import Mend
from ontology.analysis.outlook.cover_timeline_rows import CoverHole

__all__ = ["Span", "build_hole", "find_spans"]

_DAY = timedelta(days=1)


class _Interval(Protocol):
    @property
    def from_date(self) -> date: ...
    @property
    def to_date(self) -> date: ...
    @property
    def depth(self) -> int: ...
    @property
    def causes(self) -> tuple[Cause, ...]: ...


@dataclass(frozen=True, slots=True)
class Span:
    """Days, both inclusive, on which one more is missing: the first (`lacking` 1), the second at once, and so on.

    `causes` are those of the first day; None where the span had begun before the days told.
    """

    from_date: date
    lacking: int
    to_date: date
    is_begin_known: bool
    causes: tuple[Cause, ...] | None


def find_spans(
    intervals: Sequence[_Interval], wanted: int, days: Iterable[date], count_on: Callable[[date], int]
) -> list[Span]:
    """Return every span in the order of first days.

    Parameters
    ----------
    intervals : sequence of intervals
        Neighbours that fill the days told.
    wanted : int
        So many must count.
    days : iterable of date
        Every day on which the count may differ from the day before, also before the days told.
    count_on : callable
        How many count on a day before the days told.
    """
    start = intervals[0].from_date
    earlier = [start, *sorted((day for day in days if day < start), reverse=True)]
    spans = []
    for lacking in range(1, wanted + 1):
        for run in _iterate_runs(intervals, wanted - lacking):
            first = run[0].from_date
            if first > start:
                spans.append(Span(first, lacking, run[-1].to_date, True, run[0].causes))
                continue
            begin = next((d for d in earlier if d > date.min and count_on(d - _DAY) > wanted - lacking), None)
            spans.append(Span(begin or start, lacking, run[-1].to_date, begin is not None, None))
    return sorted(spans, key=lambda span: (span.from_date, span.lacking))


def build_hole(
    span: Span, causes: tuple[Cause, ...], mend: Mend | None, reason: str | None, last_told: date
) -> CoverHole:
    """Return the hole that a span is."""
    return CoverHole(
        from_date=span.from_date,
        to_date=span.to_date,
        is_begin_known=span.is_begin_known,
        is_open=span.to_date == last_told,
        lacking=span.lacking,
        causes=causes,
        last_day_to_act=None if mend is None else mend.last_day_to_act,
        is_late=mend is None or mend.is_late,
        mend=mend,
        reason=reason,
    )


def _iterate_runs(intervals: Sequence[_Interval], most: int) -> Iterator[list[_Interval]]:
    """Yield the longest runs of neighbouring intervals in which at most so many count."""
    run: list[_Interval] = []
    for interval in intervals:
        if interval.depth <= most:
            run.append(interval)
        elif run:
            yield run
            run = []
    if run:
        yield run
