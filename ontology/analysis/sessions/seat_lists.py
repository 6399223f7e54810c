"""Whose seat is in which session: the bookings of a person, and the sheet on which a class signs. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Final, Literal

from ontology.analysis.profiles.belonging import get_person_on
from ontology.model.identity import PersonId
from ontology.model.work_records import Booking, Session
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "AttendanceSheet",
    "ListedPerson",
    "PersonBooking",
    "PersonBookings",
    "SeatStatus",
    "find_bookings",
    "find_seat_status",
    "list_attendance",
]

SeatStatus = Literal["confirmed", "cancelled"]
#: States of a booking in which someone has, or had, a seat.
_WITH_A_SEAT: Final = ("booked", "attended", "missed")
#: A sheet has a column to sign for each of so many days at the most.
_MOST_DAYS: Final = 31


@dataclass(frozen=True, slots=True)
class PersonBooking:
    """A seat in a session, the wish for one, or one that was given up."""

    session: Annotated[str, "Id of the session."]
    course: Annotated[str, "Id of its course."]
    first_day: Annotated[date, "Its first day."]
    last_day: Annotated[date, "Its last day."]
    where: Annotated[str, "Room or address."]
    site: Annotated[str | None, "Id of the site; null: none is named."]
    session_state: Annotated[str, "How the session stands: planned, confirmed, cancelled or held."]
    state: Annotated[str, "How the booking stands: asked, waiting, booked, attended, missed or cancelled."]
    status: Annotated[SeatStatus | None, "confirmed or cancelled; null: there is no seat yet."]
    booked_on: Annotated[date | None, "The day it was asked for or booked."]


@dataclass(frozen=True, slots=True)
class PersonBookings:
    """The bookings of a person."""

    person: Annotated[PersonId, "Id of the person."]
    on: Annotated[date, "The day asked about."]
    rows: Annotated[tuple[PersonBooking, ...], "By first day and session; past ones too."]


@dataclass(frozen=True, slots=True)
class ListedPerson:
    """Someone with a seat."""

    person: Annotated[PersonId, "Id of the person."]
    team: Annotated[str | None, "Id of their team on the first day; null: none."]


@dataclass(frozen=True, slots=True)
class AttendanceSheet:
    """Who signs on which days of a session."""

    session: Annotated[str, "Id of the session."]
    course: Annotated[str, "Id of its course."]
    first_day: Annotated[date, "Its first day."]
    last_day: Annotated[date, "Its last day."]
    where: Annotated[str, "Room or address."]
    site: Annotated[str | None, "Id of the site; null: none is named."]
    session_state: Annotated[str, "planned, confirmed, cancelled or held."]
    days: Annotated[tuple[date, ...], "The days to sign for, at most the first 31."]
    people: Annotated[tuple[ListedPerson, ...], "Everyone with a seat, by id."]


def find_seat_status(booking: Booking, session: Session) -> SeatStatus | None:
    """Return how a seat stands in a calendar: confirmed or cancelled; None where there is none yet."""
    if booking.state in _WITH_A_SEAT and session.state != "cancelled":
        return "confirmed"
    return "cancelled" if booking.state in (*_WITH_A_SEAT, "cancelled") else None


def find_bookings(snapshot: Snapshot, person_id: str, on: date) -> PersonBookings:
    """Return the bookings of a person, whenever.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    snapshot.require_person(person_id)
    rows = [_describe(row, snapshot.sessions[row.session]) for row in snapshot.get_bookings(person_id)]
    return PersonBookings(person_id, on, tuple(sorted(rows, key=lambda row: (row.first_day, row.session))))


def _describe(booking: Booking, session: Session) -> PersonBooking:
    return PersonBooking(
        session=session.id,
        course=session.course,
        first_day=session.from_date,
        last_day=session.to_date,
        where=session.where,
        site=session.site or None,
        session_state=session.state,
        state=booking.state,
        status=find_seat_status(booking, session),
        booked_on=booking.booked_on,
    )


def list_attendance(snapshot: Snapshot, session_id: str) -> AttendanceSheet:
    """Return who signs on which days of a session.

    Raises
    ------
    UnknownIdError
        There is no such session.
    """
    session = snapshot.require_session(session_id)
    people = []
    for booking in snapshot.get_bookings_of_session(session_id):
        if booking.state in _WITH_A_SEAT:
            person = get_person_on(snapshot, booking.person, session.from_date)
            people.append(ListedPerson(person.id, person.team or None))
    count = min((session.to_date - session.from_date).days + 1, _MOST_DAYS)
    return AttendanceSheet(
        session=session_id,
        course=session.course,
        first_day=session.from_date,
        last_day=session.to_date,
        where=session.where,
        site=session.site or None,
        session_state=session.state,
        days=tuple([session.from_date + timedelta(days=n) for n in range(count)]),
        people=tuple(sorted(people, key=lambda row: row.person)),
    )
