"""Which wishes for a course still stand: asked by then, of people employed, who have no seat still to come. Pure."""

from __future__ import annotations

from datetime import date

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.profiles.seats import get_sessions_attended
from ontology.model.agreement_records import Request
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_open_requests", "is_open_request"]


def is_open_request(snapshot: Snapshot, request: Request, on: date) -> bool:
    """Whether a request stands on a day. O(bookings of the person)."""
    if request.asked_on is not None and request.asked_on > on:
        return False
    if not is_employed(snapshot.people[request.person], on):
        return False
    sessions = get_sessions_attended(snapshot, request.person)
    return not any(session.course == request.course and session.to_date >= on for session in sessions)


def find_open_requests(snapshot: Snapshot, course_id: str, on: date) -> list[Request]:
    """Return the requests for a course that stand on a day, by person."""
    return [row for row in snapshot.get_requests_of_course(course_id) if is_open_request(snapshot, row, on)]
