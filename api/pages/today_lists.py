"""What the lists of the first page consist of: rows with a state or a day, what is said of them, and one act each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.sheet import Cell, State
from api.pages.page import Link, Way

__all__ = ["ROWS_SHOWN", "TodayList", "TodayRow", "TodaySection", "build_list", "tell_distance", "wait_for"]

#: Rows of a list; the rest is linked.
ROWS_SHOWN: Final = 5


@dataclass(frozen=True, slots=True)
class TodayRow:
    """One thing: `where` above it, its state or its day, `what` in bold, `why` below, and what to do."""

    what: Cell
    why: Cell = ""
    where: Cell = ""
    state: State | None = None
    day: dt.date | None = None
    aside: str = ""
    act: Link | None = None


@dataclass(frozen=True, slots=True)
class TodayList:
    """A list of the first page; `more` leads to the rest, `is_waiting` while it is still worked out."""

    heading: str
    rows: tuple[TodayRow, ...]
    empty: str
    more: Link | None = None
    is_waiting: bool = False


@dataclass(frozen=True, slots=True)
class TodaySection:
    """What one of the three ways has to say today."""

    way: Way
    heading: str
    lead: str
    lists: tuple[TodayList, ...]
    acts: tuple[Link, ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[tuple[str, Link], ...] = ()


def build_list(heading: str, rows: Sequence[TodayRow], empty: str, all_of_it: str) -> TodayList:
    """Return a list of at most five rows; where there are more, a link says how many to the address of all of them."""
    left = len(rows) - ROWS_SHOWN
    more = Link(f"{left} more", all_of_it) if left > 0 else None
    return TodayList(heading, tuple(rows[:ROWS_SHOWN]), empty, more)


def wait_for(heading: str, address: str) -> TodayList:
    """Return a list that is still worked out; the address leads to all of it."""
    return TodayList(heading, (), "This is still being worked out.", Link("See all of it", address), is_waiting=True)


def tell_distance(day: dt.date, on: dt.date) -> str:
    """Return how far a day is from another in words.

    Examples
    --------
    >>> on = dt.date(2026, 11, 24)
    >>> [tell_distance(on + dt.timedelta(days=n), on) for n in (-19, -1, 0, 1, 11)]
    ['past, 19 days ago', 'past, yesterday', 'today', 'tomorrow', 'in 11 days']
    """
    days = (day - on).days
    near = {-1: "past, yesterday", 0: "today", 1: "tomorrow"}
    return near.get(days) or (f"in {days} days" if days > 0 else f"past, {-days} days ago")
