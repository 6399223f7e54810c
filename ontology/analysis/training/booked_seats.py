"""Seats that people of a team have in sessions to come: acts that are taken, which no plan asks for again. Pure.

A plan counts what they bring as if it were held; after the plan it counts from the last day of each session.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.belonging import get_people_of_team
from ontology.analysis.profiles.seats import get_coming_seats
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["BookedSeat", "count_as_held", "find_booked_seats"]


@dataclass(frozen=True, slots=True)
class BookedSeat:
    """A seat in a session that is not over."""

    person: Annotated[PersonId, "Id of the person."]
    course: Annotated[str, "Id of the course."]
    session: Annotated[str, "Id of the session."]
    ends_on: Annotated[date, "Its last day."]


def find_booked_seats(snapshot: Snapshot, team_id: str, on: date) -> tuple[BookedSeat, ...]:
    """Return the seats that people of a team have in sessions not over on a day, by person, last day and session.

    Only those in courses that bring what the team's needs or places ask for, or what leads there.
    """
    asked = _find_asked(snapshot, team_id)
    return tuple(
        BookedSeat(person.id, session.course, session.id, session.to_date)
        for person in get_people_of_team(snapshot, team_id)
        for session in get_coming_seats(snapshot, person.id, on)
        if any(row.competency in asked for row in snapshot.get_outcomes(session.course))
    )


def _find_asked(snapshot: Snapshot, team_id: str) -> set[str]:
    """Return the competencies that needs and places ask for, and all that these hang on, are shown or learned by."""
    found = {need.competency for need in snapshot.get_cover_needs(team_id)}
    for place in snapshot.get_places(team_id):
        found.update(row.competency for row in snapshot.get_requirements(place.role) if row.necessity != "desirable")
    stack = list(found)
    while stack:
        competency = stack.pop()
        leads = {*snapshot.competencies[competency].holds_while}
        leads.update(row.competency for row in snapshot.get_equivalences_to(competency))
        for outcome in snapshot.get_outcomes_of_competency(competency):
            leads.update(row.competency for row in snapshot.get_entry_conditions(outcome.course))
        stack += leads - found
        found |= leads
    return found


def count_as_held(snapshot: Snapshot, seats: tuple[BookedSeat, ...], on: date) -> Snapshot:
    """Return the Snapshot in which what booked seats bring is held on a day already; itself where there are none."""
    return with_outcomes(snapshot, [(seat.person, seat.course, on) for seat in seats])
