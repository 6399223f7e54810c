"""Who has a seat in which session: on its days they are in it and nowhere else. Pure."""

from __future__ import annotations

from datetime import date
from typing import Final

from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "SEATED",
    "count_free_seats",
    "find_booked_session",
    "find_booked_sessions",
    "find_usable_seats",
    "get_coming_seats",
    "get_end",
    "get_sessions_attended",
]

#: States of a booking in which someone is, or was, in the session.
SEATED: Final = ("booked", "attended")


def get_sessions_attended(snapshot: Snapshot, person_id: str) -> tuple[Session, ...]:
    """Return the sessions in which someone has a seat, cancelled ones left out, by first day and id. O(bookings)."""
    rows = (snapshot.sessions[row.session] for row in snapshot.get_bookings(person_id) if row.state in SEATED)
    sessions = [session for session in rows if session.state != "cancelled"]
    return tuple(sorted(sessions, key=lambda session: (session.from_date, session.id)))


def count_free_seats(snapshot: Snapshot, session: Session) -> int | None:
    """Return how many seats of a session are free, not below 0; None where there is no limit. O(bookings of it)."""
    seats = snapshot.courses[session.course].seats if session.seats is None else session.seats
    if seats is None:
        return None
    taken = sum(booking.state in SEATED for booking in snapshot.get_bookings_of_session(session.id))
    return max(seats - taken, 0)


def find_booked_session(snapshot: Snapshot, person_id: str, course_id: str, on: date) -> Session | None:
    """Return the session of a course, not over on a day, in which a person is booked: the one that ends first."""
    return find_booked_sessions(snapshot, person_id, on).get(course_id)


def find_booked_sessions(snapshot: Snapshot, person_id: str, on: date) -> dict[str, Session]:
    """Return course id -> the session, not over on a day, in which a person is booked: the one that ends first."""
    return {session.course: session for session in reversed(get_coming_seats(snapshot, person_id, on))}


def find_usable_seats(snapshot: Snapshot, person_id: str, on: date) -> dict[str, Session]:
    """Return course id -> the session of `find_booked_sessions`, of those that do not begin before the first day.

    Nobody begins a course before they are employed.
    """
    start = snapshot.people[person_id].start_date
    seats = find_booked_sessions(snapshot, person_id, on)
    return {i: session for i, session in seats.items() if start is None or session.from_date >= start}


def get_coming_seats(snapshot: Snapshot, person_id: str, on: date) -> list[Session]:
    """Return the sessions, not over on a day and not cancelled, in which a person is booked, by last day and id."""
    rows = (snapshot.sessions[row.session] for row in snapshot.get_bookings(person_id) if row.state == "booked")
    return sorted((s for s in rows if s.state != "cancelled" and s.to_date >= on), key=get_end)


def get_end(session: Session) -> tuple[date, str]:
    """Return what sorts sessions by their last day, then by id."""
    return session.to_date, session.id
