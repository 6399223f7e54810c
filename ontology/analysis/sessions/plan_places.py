"""Where a plan of sessions leaves slots empty that could be filled without it. Pure.

Places are no rule of the plan: they are told, so that whoever books can see to them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.places.holding import build_holding
from ontology.analysis.sessions.plan_result import PlaceAtRisk
from ontology.analysis.sessions.plan_rows import PlanRow, Seat
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_places_at_risk"]

_DAY: Final = timedelta(days=1)


def find_places_at_risk(
    base: Snapshot, calendars: Mapping[str, TeamCalendar], seated: Sequence[tuple[PlanRow, Seat]]
) -> Iterator[PlaceAtRisk]:
    """Yield the slots that can be filled without the plan on a day of its sessions and not with it, by day and team.

    Parameters
    ----------
    base : Snapshot
        What is known, with the outcomes of booked seats.
    calendars : Mapping of team id to TeamCalendar
        The teams of those who sit in sessions.
    seated : sequence of (PlanRow, Seat)

    Notes
    -----
    Two matchings for each team and day of a session, where the team has slots.
    """
    away: dict[date, set[str]] = {}
    for row, seat in seated:
        for n in range((seat.session.to_date - seat.session.from_date).days + 1):
            away.setdefault(seat.session.from_date + n * _DAY, set()).add(row.person)
    if not away:
        return
    after = with_outcomes(base, [(row.person, row.course, seat.session.to_date) for row, seat in seated])
    for day, people in sorted(away.items()):
        for team, calendar in calendars.items():
            gone = sorted(people.intersection(person.id for person in calendar.get_members(day)))
            if gone:
                yield from _compare(base, after, team, day, gone)


def _compare(base: Snapshot, after: Snapshot, team: str, day: date, gone: Sequence[str]) -> Iterator[PlaceAtRisk]:
    before = build_holding(get_presence(base, team, day))
    then = build_holding(get_presence(after, team, day, gone))
    if then.matching.size >= before.matching.size:
        return
    for index in then.matching.empty_slots:
        if before.matching.person_of[index] is not None:
            yield PlaceAtRisk(day, team, then.slots[index].place, tuple(gone))
