"""Who has a seat in which session: on its days they are in it and nowhere else. Pure."""

from __future__ import annotations

from typing import Final

from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SEATED", "get_sessions_attended"]

#: States of a booking in which someone is, or was, in the session.
SEATED: Final = ("booked", "attended")


def get_sessions_attended(snapshot: Snapshot, person_id: str) -> tuple[Session, ...]:
    """Return the sessions in which someone has a seat, cancelled ones left out, by first day and id. O(bookings)."""
    rows = (snapshot.sessions[row.session] for row in snapshot.get_bookings(person_id) if row.state in SEATED)
    sessions = [session for session in rows if session.state != "cancelled"]
    return tuple(sorted(sessions, key=lambda session: (session.from_date, session.id)))
