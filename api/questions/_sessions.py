"""How sessions and seats in them are told: what a session is called, what it is facts of, a seat as an event."""

from __future__ import annotations

import datetime as dt
from typing import Final

from api.desk.names import Names
from api.desk.sheet import Span, State
from loaders.calendar_file import CalendarEvent, EventStatus
from ontology.analysis.sessions.seat_lists import SeatStatus

_STATUSES: Final[dict[SeatStatus, EventStatus]] = {"confirmed": "CONFIRMED", "cancelled": "CANCELLED"}
_STATES: Final = {
    "asked": "wishes for a seat",
    "waiting": "waits for a seat to come free",
    "booked": "has a seat",
    "attended": "was there",
    "missed": "had a seat and was not there",
    "cancelled": "the seat was given up",
}


def show_booking_state(code: str) -> State:
    """Return how a booking stands."""
    return State(code, code, _STATES[code])


def show_days(first_day: dt.date, last_day: dt.date) -> dt.date | Span:
    """Return the days of a session as a cell."""
    return first_day if first_day == last_day else Span(first_day, last_day)


def name_days(first_day: dt.date, last_day: dt.date) -> str:
    """Return the days of a session in words."""
    return str(first_day) if first_day == last_day else f"{first_day} to {last_day}"


def name_session(names: Names, course_id: str, first_day: dt.date, last_day: dt.date) -> str:
    """Return what people call a session: its course and its days."""
    return f"{names.course(course_id)}, {name_days(first_day, last_day)}"


def build_seat_event(
    store_id: str,
    person_id: str,
    session_id: str,
    *,
    days: tuple[dt.date, dt.date],
    summary: str,
    where: str = "",
    about: str = "",
    status: SeatStatus = "confirmed",
) -> CalendarEvent:
    """Return a seat as an event on its first and last of `days`; the same seat is the same event in every file."""
    return CalendarEvent(
        key="",
        uid=f"booking-{session_id}~{person_id}@{store_id}",
        first_day=days[0],
        last_day=days[1],
        summary=summary,
        description=about,
        category="Course",
        location=where,
        status=_STATUSES[status],
    )
