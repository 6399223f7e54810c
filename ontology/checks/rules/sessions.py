"""Rules on sessions and their bookings: days in order, no more bookings than seats, none of what is cancelled."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.checks.rules.belonging import make_order_rule, tell_unemployed
from ontology.model.work_records import Booking, Session
from ontology.snapshot.snapshot import Snapshot

#: States of a booking that take a seat, and those that still wait for one or have one.
_SEATED: Final = ("booked", "attended", "missed")
_OPEN: Final = ("asked", "waiting", "booked")


def _check_seats(snapshot: Snapshot, record: Session) -> Iterator[Problem]:
    course = snapshot.courses.get(record.course)
    seats = record.seats if record.seats is not None or course is None else course.seats
    booked = sum(booking.state in _SEATED for booking in snapshot.get_bookings_of_session(record.id))
    if seats is not None and booked > seats:
        reason = f"{describe('sessions', record)} has {seats} seats and {booked} bookings"
        yield Problem("seats", str(seats), f"{reason}; let some wait, or give it more seats")


def _check_book_by(snapshot: Snapshot, record: Session) -> Iterator[Problem]:
    if record.book_by is not None and record.book_by > record.from_date:
        reason = f"{describe('sessions', record)}: its last day to book is {record.book_by}"
        yield Problem("book_by", str(record.book_by), f"{reason}, after it begins on {record.from_date}")


def _check_cancelled(snapshot: Snapshot, record: Booking) -> Iterator[Problem]:
    session = snapshot.sessions.get(record.session)
    if session is None or session.state != "cancelled" or record.state == "cancelled":
        return
    what = "still open" if record.state in _OPEN else record.state
    reason = f"{describe('bookings', record)} is {what}, but the session is cancelled; cancel it, or book another"
    yield Problem("state", record.state, reason)


def _check_employment(snapshot: Snapshot, record: Booking) -> Iterator[Problem]:
    session = snapshot.sessions.get(record.session)
    if session is None or record.state == "cancelled":
        return
    told = tell_unemployed(snapshot, record.person, session.from_date, session.to_date)
    if told:
        days = f"{session.from_date} to {session.to_date}"
        yield Problem("person", record.person, f"{describe('bookings', record)}, {days}: {told}")


RULES: Final = (
    make_order_rule("sessions"),
    Rule("no more bookings than seats", "remark", "sessions", _check_seats),
    Rule("last day to book before the session", "remark", "sessions", _check_book_by),
    Rule("booking of a cancelled session", "remark", "bookings", _check_cancelled),
    Rule("booking while employed", "remark", "bookings", _check_employment),
)
