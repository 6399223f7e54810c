"""Who waits for a seat in a session, in the order in which seats that come free are offered. Pure.

By due, then by when they asked; nothing else decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, Literal

from ontology.analysis.obligations.last_day_to_act import get_book_by
from ontology.analysis.profiles.seats import count_free_seats
from ontology.analysis.sessions.course_dues import find_course_dues
from ontology.model.identity import CountOf, PeopleCount, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = ["WaitingList", "WaitingPerson", "find_waiting_list"]

WaitingState = Literal["asked", "waiting"]
_WAITING: Final[tuple[WaitingState, ...]] = ("asked", "waiting")


@dataclass(frozen=True, slots=True)
class WaitingPerson:
    """Someone who waits for a seat."""

    person: Annotated[PersonId, "Id of the person."]
    state: Annotated[WaitingState, "asked, or waiting for a seat to come free."]
    must_hold: Annotated[bool, "Whether they must hold what this is the course for, within a year."]
    due: Annotated[date | None, "By when; null: nothing is due, or it was before all that is known."]
    booked_on: Annotated[date | None, "The day they asked; null: not recorded."]


@dataclass(frozen=True, slots=True)
class WaitingList:
    """Who waits for a seat in a session."""

    session: Annotated[str, "Id of the session."]
    course: Annotated[str, "Id of its course."]
    first_day: Annotated[date, "Its first day."]
    last_day: Annotated[date, "Its last day."]
    session_state: Annotated[str, "planned, confirmed, cancelled or held."]
    on: Annotated[date, "The day asked about."]
    free_seats: Annotated[int | None, TellsOf(), "Seats that are free; null: no limit."]
    book_by: Annotated[date, "The last day to book it."]
    people: Annotated[PeopleCount, "People who wait."]
    people_who_must: Annotated[int, CountOf(of="people"), "Of them, those who must hold what this is the course for."]
    rows: Annotated[
        tuple[WaitingPerson, ...],
        "By due (one before all that is known first, who need not hold it last), then day asked, then id.",
    ]


def find_waiting_list(snapshot: Snapshot, session_id: str, on: date) -> WaitingList:
    """Return who waits for a seat in a session.

    Raises
    ------
    UnknownIdError
        There is no such session.

    Notes
    -----
    O(n log n) for n who wait, and what is asked of them.
    """
    session = snapshot.require_session(session_id)
    waiting = {row.person: row for row in snapshot.get_bookings_of_session(session_id) if row.state in _WAITING}
    dues = {row.person: row for row in find_course_dues(snapshot, session.course, on, waiting)}

    def rank(person_id: str) -> tuple[object, ...]:
        due = dues.get(person_id)
        day = date.max if due is None else due.due or date.min
        return due is None, day, waiting[person_id].booked_on or date.max, person_id

    return WaitingList(
        session=session_id,
        course=session.course,
        first_day=session.from_date,
        last_day=session.to_date,
        session_state=session.state,
        on=on,
        free_seats=count_free_seats(snapshot, session),
        book_by=get_book_by(snapshot, session),
        people=len(waiting),
        people_who_must=len(waiting.keys() & dues.keys()),
        rows=tuple(
            WaitingPerson(
                person=person_id,
                state="asked" if waiting[person_id].state == "asked" else "waiting",
                must_hold=person_id in dues,
                due=dues[person_id].due if person_id in dues else None,
                booked_on=waiting[person_id].booked_on,
            )
            for person_id in sorted(waiting, key=rank)
        ),
    )
