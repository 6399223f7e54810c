"""How many of those with a seat come to a session, as exact shares of what was recorded. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Final

from ontology.model.validity import add_months
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FEWEST_SEATS", "MONTHS_BACK", "ShowUp", "find_show_up"]

#: Sessions that ended in so many months before the day are looked at.
MONTHS_BACK: Final = 24
#: A share rests on at least so many seats that were taken or missed.
FEWEST_SEATS: Final = 20


@dataclass(frozen=True, slots=True)
class ShowUp:
    """The share of seats taken by who had them; `count` seats it rests on, 0 where it is assumed."""

    share: Fraction
    count: int
    is_of_all_courses: bool = False


def find_show_up(snapshot: Snapshot, course_id: str, on: date) -> ShowUp:
    """Return the share of a course: its own where enough is recorded, else that of all courses, else 1.

    O(sessions and their bookings).
    """
    own, every = snapshot.get_sessions(course_id), snapshot.sessions.values()
    for is_of_all, sessions in ((False, own), (True, every)):
        attended, missed = _count(snapshot, sessions, on)
        if attended + missed >= FEWEST_SEATS:
            return ShowUp(Fraction(attended, attended + missed), attended + missed, is_of_all)
    return ShowUp(Fraction(1), 0)


def _count(snapshot: Snapshot, sessions: Iterable[Session], on: date) -> tuple[int, int]:
    """Return how many seats were taken and missed in sessions that ended in the months before a day."""
    try:
        first = add_months(on, -MONTHS_BACK)
    except OverflowError:
        first = date.min
    states = Counter(
        booking.state
        for session in sessions
        if first <= session.to_date < on and session.state != "cancelled"
        for booking in snapshot.get_bookings_of_session(session.id)
    )
    return states["attended"], states["missed"]
