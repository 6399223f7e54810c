"""The time axis of a calendar picture: where a day stands, which days are named, lines that run down from them.

Imports drawing, metrics, placed cards, style.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.drawing import Drawing
from api.diagrams.metrics import measure
from api.diagrams.old_cards import Line
from api.diagrams.placed_cards import build_words_card

__all__ = ["Axis", "format_day", "format_span"]

_MONTHS: Final = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_LABEL: Final = 52
#: Steps between named days, in months.
_STEPS: Final = (1, 2, 3, 6, 12, 24, 60, 120)
_WEEKS_MOST: Final = 14


def format_day(day: date) -> str:
    """Return a day in words.

    Examples
    --------
    >>> format_day(date(2026, 11, 4))
    '4 Nov 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def format_span(first: date, last: date) -> str:
    """Return two days in words, what they share once.

    Examples
    --------
    >>> format_span(date(2026, 11, 4), date(2027, 1, 8)), format_span(date(2026, 11, 4), date(2026, 12, 8))
    ('4 Nov 2026 – 8 Jan 2027', '4 Nov – 8 Dec 2026')
    """
    if first == last:
        return format_day(first)
    begin = format_day(first) if first.year != last.year else f"{first.day} {_MONTHS[first.month - 1]}"
    return f"{begin} – {format_day(last)}"


@dataclass(frozen=True, slots=True)
class Axis:
    """Days from left to right: `left` and `right` in points, the first and last day shown."""

    left: float
    right: float
    first: date
    last: date
    height: int = 20

    @property
    def days(self) -> int:
        """How many days it shows."""
        return (self.last - self.first).days + 1

    def get_x(self, day: float) -> float:
        """Return where a day begins, counted from the first."""
        return self.left + (self.right - self.left) * min(max(day, 0), self.days) / self.days

    def draw(
        self, drawing: Drawing, top: float, above: float, below: float, holidays: Sequence[date], shade: str
    ) -> None:
        """Add the names of days above the rows, lines that run down from them, and the holidays."""
        for day in holidays:
            x = self.get_x((day - self.first).days)
            width = max(1.0, self.get_x((day - self.first).days + 1) - x)
            drawing.add_frame(x, above, width, below - above, ground=shade, border=shade, is_rounded=False)
        taken = self.left - 1
        for number, (day, words) in enumerate(self._iterate_names()):
            x = self.get_x((day - self.first).days)
            self._rule(drawing, x, above - 4, 0, below - above + 4, style.HAIR)
            card = build_words_card([Line(words, colour=style.QUIET)], int(measure(words, style.SMALL_PT)) + 4)
            if x + 2 < taken or x + card.width > self.right:
                continue
            taken = x + 2 + card.width
            drawing.add_card(f"axis/{number}", x + 2, top + 1, card, tooltip=words)
        self._rule(drawing, self.left, above, self.right - self.left, 0, style.LINE)

    def _rule(self, drawing: Drawing, x: float, y: float, width: float, height: float, colour: str) -> None:
        drawing.add_frame(x, y, width, height, ground=colour, border=colour, is_rounded=False)

    def _iterate_names(self) -> Iterator[tuple[date, str]]:
        """Yield Mondays of a short axis; of a longer one first days of months, as many as there is room for."""
        if self.days <= 7 * _WEEKS_MOST:
            for days in range(-self.first.weekday() % 7, self.days, 7):
                monday = self.first + timedelta(days=days)
                yield monday, f"{monday.day} {_MONTHS[monday.month - 1]}"
            return
        room = (self.right - self.left) // _LABEL
        step = next((s for s in _STEPS if self.days / 30 / s <= room), _STEPS[-1])
        month = self.first.year * 12 + self.first.month
        month += -month % step
        while month // 12 <= 9999 and (day := date(month // 12, month % 12 + 1, 1)) <= self.last:
            yield day, f"{_MONTHS[day.month - 1]} {day.year}" if step < 12 else str(day.year)
            month += step
