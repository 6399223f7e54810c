"""The time axis of a calendar picture: days as fixed cells beside each other, cut where something begins or ends.

The only widths a picture sets by itself: here the place of a cell is its meaning, and all cells of a row together are
as wide as the axis.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final, NamedTuple

from api.desk.plain_cells import say_month
from api.pictures import style
from api.pictures.cards import cell, row, small, table

_MONTHS: Final = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
#: Points: the axis, the least a tick is wide, what a week's, a month's and a year's name need.
_WIDTH: Final = 430
_TICK: Final = 30
_ROOM: Final = {"week": 40, "month": 24, "year": 28}
_HEIGHT: Final = {"words": 14, "bar": 12}
#: Steps between ticks, in months; so short a plan has a tick each Monday.
_STEPS: Final = (1, 3, 6, 12, 24, 60, 120, 240)
_MOST_WEEKS: Final = 10
#: Points: the least a bar is wide, and the least a cell needs for its border.
_LEAST: Final = 2
#: How much of its colour is left of a bar where the course could still be.
PALE: Final = 0.25


def format_span(first: date, last: date) -> str:
    """Return two days in words, what they share once.

    Examples
    --------
    >>> format_span(date(2026, 11, 4), date(2027, 1, 8)), format_span(date(2026, 11, 4), date(2026, 12, 8))
    ('4 Nov 2026 – 8 Jan 2027', '4 Nov – 8 Dec 2026')
    """
    if first == last:
        return say_month(first)
    begin = say_month(first) if first.year != last.year else f"{first.day} {_MONTHS[first.month - 1]}"
    return f"{begin} – {say_month(last)}"


def format_days(days: Sequence[date]) -> str:
    """Return days in words, those in a row as one span.

    Examples
    --------
    >>> format_days([date(2026, 12, 24), date(2026, 12, 25), date(2027, 1, 1)])
    '24 Dec – 25 Dec 2026, 1 Jan 2027'
    """
    spans: list[tuple[date, date]] = []
    for day in sorted(days):
        if spans and day - spans[-1][1] <= timedelta(days=1):
            spans[-1] = (spans[-1][0], day)
        else:
            spans.append((day, day))
    return ", ".join(format_span(first, last) for first, last in spans)


class Bar(NamedTuple):
    """What a row shows on the axis: from the first to the last day in a colour, then paler up to the latest end."""

    first: date
    last: date
    colour: str
    latest: date


@dataclass(frozen=True, slots=True)
class Axis:
    """Days from left to right, the first and the last one shown."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """How many days it shows."""
        return (self.last - self.first).days + 1

    def build_years(self) -> str:
        """Return the row of years as markup."""
        starts = [self.first, *(date(year, 1, 1) for year in range(self.first.year + 1, self.last.year + 1))]
        kept = [day for day in starts if day == self.first or day in self._get_ticks() or self._get_step() < 12]
        return self._build_words([(day, str(day.year)) for day in kept], _ROOM["year"])

    def build_ticks(self) -> str:
        """Return the row of months, or of Mondays where it is short, as markup; empty where years are enough."""
        if self._is_short():
            words = [(day, f"{day.day} {_MONTHS[day.month - 1]}") for day in self._get_ticks()]
            return self._build_words([(self.first, ""), *words], _ROOM["week"])
        if self._get_step() >= 12:
            return ""
        return self._build_words([(day, _MONTHS[day.month - 1]) for day in self._get_starts()], _ROOM["month"])

    def build_bar(self, bar: Bar, ground: str = style.WHITE) -> str:
        """Return a row's bar on its ground as markup: every cell as wide as its days."""
        begin, end = self._get_x(bar.first), self._get_x(bar.last + timedelta(days=1))
        begin = min(begin, _WIDTH - _LEAST)
        end = max(end, begin + _LEAST)
        latest = max(end, self._get_x(bar.latest + timedelta(days=1)))
        ticks = {self._get_x(day) for day in self._get_starts()}
        cuts = sorted({0, _WIDTH, begin, end, latest} | ticks)
        cells = []
        for left, right in pairwise(cuts):
            colour = bar.colour if begin <= left < end else style.mix(bar.colour, PALE) if end <= left < latest else ""
            has_line = not colour and left in ticks and right - left >= _LEAST
            cells.append(self._build_cell(right - left, _HEIGHT["bar"], "", colour, has_line=has_line))
        return table(row(*cells), padding=0, ground=ground)

    def _is_short(self) -> bool:
        return self.days <= 7 * _MOST_WEEKS

    def _get_step(self) -> int:
        """Return the months between ticks, so that each is wide enough."""
        per_month = _WIDTH / self.days * 30
        return next((step for step in _STEPS if step * per_month >= _TICK), _STEPS[-1])

    def _get_ticks(self) -> list[date]:
        return list(self._iterate_mondays() if self._is_short() else self._iterate_months())

    def _get_starts(self) -> list[date]:
        """Return where a cell begins: the first day, and every tick."""
        return list(dict.fromkeys([self.first, *self._get_ticks()]))

    def _iterate_mondays(self) -> Iterator[date]:
        for days in range(-self.first.weekday() % 7, self.days, 7):
            yield self.first + timedelta(days=days)

    def _iterate_months(self) -> Iterator[date]:
        step = self._get_step()
        month = self.first.year * 12 + self.first.month - 1
        month += -month % step
        while month // 12 <= date.max.year and (day := date(month // 12, month % 12 + 1, 1)) <= self.last:
            if day >= self.first:
                yield day
            month += step

    def _get_x(self, day: date) -> int:
        """Return where a day begins, in whole points."""
        return round(_WIDTH * min(max((day - self.first).days, 0), self.days) / self.days)

    def _build_words(self, named: Sequence[tuple[date, str]], room: int) -> str:
        """Return words, each in a cell up to the next one; without its word where the cell is too narrow."""
        starts = [(self._get_x(day), words) for day, words in named]
        ends = [left for left, _ in starts[1:]] + [_WIDTH]
        cells = [
            self._build_cell(
                right - left, _HEIGHT["words"], words if right - left >= room else "", has_line=bool(words)
            )
            for (left, words), right in zip(starts, ends, strict=True)
            if right > left
        ]
        return table(row(*cells), padding=0)

    def _build_cell(self, width: int, height: int, words: str, colour: str = "", *, has_line: bool = False) -> str:
        more = {"bgcolor": colour} if colour else {}
        if has_line and width >= _LEAST:
            more |= {"border": "1", "sides": "L", "color": style.HAIR}
        size = {"width": f"{width}", "height": f"{height}", "fixedsize": "TRUE", "cellpadding": "0"}
        return cell(small(words), **size, **more)
