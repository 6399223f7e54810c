"""The last day to act so that something is held by its due day: by sessions, or by how long a course takes. Pure.

What must be held is learned in paid working time: 40 hours a week, not hours of study.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

from ontology.analysis.cover.nearest import compute_course_time
from ontology.analysis.obligations.first_act import FirstAct
from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.pace import get_days
from ontology.analysis.profiles.seats import count_free_seats, find_booked_session, get_end
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LastDay", "find_last_day", "get_book_by"]

_DATED: Final = ("planned", "confirmed")


@dataclass(frozen=True, slots=True)
class LastDay:
    """By when to act; `session` is the one to book, `booked_session` the one that has been."""

    day: date | None
    is_late: bool
    session: str | None = None
    booked_session: str | None = None


def get_book_by(snapshot: Snapshot, session: Session) -> date:
    """Return the last day on which a session can be booked: its own, else its first day less the course's lead."""
    if session.book_by is not None:
        return session.book_by
    return _go_back(session.from_date, _get_lead_days(snapshot.courses[session.course].lead_weeks))


@lru_cache(maxsize=1024)
def _get_lead_days(lead_weeks: float) -> int:
    """Return the whole days before a session: exact, and there are few different ones."""
    return get_days(read_decimal(lead_weeks))


def find_last_day(snapshot: Snapshot, person_id: str, first: FirstAct, due: date | None, on: date) -> LastDay:
    """Return the last day to act, and with which session.

    Parameters
    ----------
    due : date or None
        None counts as the day before `on`.

    Notes
    -----
    O(bookings of the person + sessions of the course and their bookings).
    """
    by = due if due is not None else _go_back(on, 1)
    if first.act == "assess":
        return LastDay(by, by < on)
    if first.course is None:
        return LastDay(None, by < on)
    booked = find_booked_session(snapshot, person_id, first.course.id, on)
    if booked is not None:
        return LastDay(None, booked.to_date > by, booked_session=booked.id)
    dated = [row for row in snapshot.get_sessions(first.course.id) if row.state in _DATED and row.from_date >= on]
    if not dated:
        day = _go_back(by, compute_course_time([first.course]).days)
        return LastDay(day, day < on)
    return _choose_session(snapshot, dated, by, on)


def _choose_session(snapshot: Snapshot, dated: Iterable[Session], by: date, on: date) -> LastDay:
    """Return the session in time that can be booked longest; none: late, with the open one that ends first."""
    book_by = [(get_book_by(snapshot, row), row) for row in dated]
    bookable = [(day, row) for day, row in book_by if day >= on and count_free_seats(snapshot, row) != 0]
    in_time = [(day, row.id) for day, row in bookable if row.to_date <= by]
    if in_time:
        latest = max(day for day, _ in in_time)
        chosen = min(session for day, session in in_time if day == latest)
        return LastDay(latest, is_late=False, session=chosen)
    soonest = min([row for _, row in bookable], key=get_end, default=None)
    return LastDay(None, is_late=True, session=None if soonest is None else soonest.id)


def _go_back(day: date, days: int) -> date:
    return date.min if days >= day.toordinal() else day - timedelta(days=days)
