"""The grid a schedule stands on: Mondays to Fridays from a first day, each with the study time it gives. Pure.

May import errors. A weekday is a slot; a week has five. The hours of a week are spread over its five weekdays, so a
holiday takes its share with it. Time is counted in fifths of a minute: the fifth part of whole minutes is whole.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import accumulate
from typing import Final

from ontology.errors import InputError

__all__ = ["MAX_SLOTS", "SLOTS_PER_WEEK", "UNITS_PER_MINUTE", "Grid", "StudyCalendar"]

SLOTS_PER_WEEK: Final = 5
UNITS_PER_MINUTE: Final = 5
#: Fifty years: a plan that takes longer is a wrong question.
MAX_SLOTS: Final = 50 * 52 * SLOTS_PER_WEEK
_FRIDAY: Final = 4


class Grid:
    """What each slot gives, and how long it takes to earn so much.

    Parameters
    ----------
    capacity : sequence of int
        Units a slot gives; 0 marks a slot in which nothing begins or ends (a holiday).
    """

    def __init__(self, capacity: Sequence[int]) -> None:
        self.capacity = tuple(capacity)
        self.sums = (0, *accumulate(self.capacity))
        self.largest = max(self.capacity, default=0)
        count = len(self.capacity)
        nexts = [count] * (count + 1)
        for slot in range(count - 1, -1, -1):
            nexts[slot] = slot if self.capacity[slot] else nexts[slot + 1]
        self._nexts = nexts

    def __len__(self) -> int:
        return len(self.capacity)

    def get_working(self, slot: int) -> int:
        """Return the first slot from this one on that is no holiday; the length of the grid where there is none."""
        return self._nexts[min(slot, len(self.capacity))]

    def get_working_before(self, slot: int) -> int:
        """Return the last slot up to this one that is no holiday; -1 where there is none."""
        slot = min(slot, len(self.capacity) - 1)
        while slot >= 0 and not self.capacity[slot]:
            slot -= 1
        return slot

    def find_earned(self, slot: int, work: int) -> int:
        """Return the slot in which `work` units are earned, all from `slot` on; the one before it for no work.

        The length of the grid where it does not give so much. O(log n).
        """
        if work <= 0:
            return slot - 1
        if slot >= len(self.capacity):
            return len(self.capacity)
        return bisect_left(self.sums, self.sums[slot] + work) - 1


class StudyCalendar:
    """Slots as days: the weekdays from `first` on, and the time each gives.

    Parameters
    ----------
    first : date
        The first day of the plan; slot 0 is the first weekday from it on.
    holidays : iterable of date
        Days without study. Those on a Saturday or Sunday change nothing.

    Raises
    ------
    InputError
        No minutes a week.
    """

    def __init__(self, first: date, minutes_per_week: int, holidays: Iterable[date] = ()) -> None:
        if minutes_per_week <= 0:
            raise InputError(
                "No hours a week are free for study: give the hours a week.", parameter="study_hours_per_week"
            )
        self.first = first
        self.minutes_per_week = minutes_per_week
        self.holidays = tuple(sorted({day for day in holidays if day >= first and day.weekday() <= _FRIDAY}))
        # slots are counted from the Monday of the first week
        begin = first + timedelta(days=7 - first.weekday()) if first.weekday() > _FRIDAY else first
        self._monday = begin - timedelta(days=begin.weekday())
        self._offset = begin.weekday()
        self._holiday_slots = [self.get_slot(day) for day in self.holidays]

    def get_day(self, slot: int) -> date:
        """Return the day of a slot.

        Raises
        ------
        InputError
            It lies after the year 9999.
        """
        weeks, weekday = divmod(slot + self._offset, SLOTS_PER_WEEK)
        try:
            return self._monday + timedelta(days=7 * weeks + weekday)
        except OverflowError:
            raise InputError("The plan would end after the year 9999.", parameter="start") from None

    def get_slot(self, day: date) -> int:
        """Return the slot of a day, or of the Monday after a weekend; 0 for days before the first."""
        weeks, weekday = divmod((day - self._monday).days, 7)
        return max(0, weeks * SLOTS_PER_WEEK + min(weekday, SLOTS_PER_WEEK) - self._offset)

    def get_last_slot(self, day: date) -> int:
        """Return the slot of a day, or of the Friday before a weekend; -1 where the plan has not begun then."""
        weeks, weekday = divmod((day - self._monday).days, 7)
        return max(-1, weeks * SLOTS_PER_WEEK + min(weekday, _FRIDAY) - self._offset)

    def get_working_span(self, first: date, last: date) -> tuple[int, int]:
        """Return the first and the last slot of some days that are no holidays; one slot where there is none."""
        begin = self.get_slot(first)
        slots = [slot for slot in range(begin, self.get_last_slot(last) + 1) if slot not in self._holiday_slots]
        return (slots[0], slots[-1]) if slots else (begin, begin)

    def count_holidays(self, slots: int, after: int = 0) -> int:
        """Return the holidays among the first so many slots, those before `after` left out."""
        return max(0, bisect_left(self._holiday_slots, slots) - bisect_left(self._holiday_slots, after))

    def build_grid(self, working: int) -> Grid:
        """Return the grid that holds so many slots and every holiday among them.

        Raises
        ------
        InputError
            More than fifty years, or after the year 9999.
        """
        slots = working
        while slots <= MAX_SLOTS and slots < (more := working + self.count_holidays(slots)):
            slots = more
        if slots > MAX_SLOTS:
            raise InputError(
                "The plan would take more than fifty years: give more hours a week, or fewer days without study.",
                parameter="study_hours_per_week",
            )
        self.get_day(slots)
        # a week's minutes in fifths, over five days: as many units as minutes
        capacity = [self.minutes_per_week] * slots
        for slot in self._holiday_slots[: self.count_holidays(slots)]:
            capacity[slot] = 0
        return Grid(capacity)
