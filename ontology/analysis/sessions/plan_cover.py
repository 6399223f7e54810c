"""What keeps cover while people sit in sessions: for each need, shift and day how many of whom may be away. Pure.

On every day of a session the people who count for a need stay at least its minimum, or as many as without the plan
where these are fewer. Who is given the level by a seat that ended before counts too, unless they sit in a session that
day themselves.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.presence import Presence
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_person_on
from ontology.analysis.profiles.levels import add_what_they_rest_on, get_level
from ontology.analysis.sessions.plan_rows import PlanRow
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CoverRow", "Gain", "build_cover_rows", "get_calendars", "with_booked_outcomes"]

_DAY: Final = timedelta(days=1)

#: A seat of the plan: number of its row, number of the seat in it.
SeatId = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Gain:
    """Someone who would count as well: once one of some seats has ended, and not while in one of others."""

    after: tuple[SeatId, ...]
    unless: tuple[SeatId, ...]


@dataclass(frozen=True, slots=True)
class CoverRow:
    """At most `room` people of these seats may be away at once, and one more for each who would count as well."""

    seats: tuple[SeatId, ...]
    room: int
    gains: tuple[Gain, ...]


def with_booked_outcomes(known: Snapshot) -> Snapshot:
    """Return what is known with the outcomes of the seats that are booked, each on the last day of its session.

    O(bookings), and one copy of the assessments where there are any.
    """
    rows = known.get_table("bookings").values()
    booked = [(row.person, known.sessions[row.session]) for row in rows if row.state == "booked"]
    done = [(person, session.course, session.to_date) for person, session in booked if session.state != "cancelled"]
    return with_outcomes(known, done)


def get_calendars(base: Snapshot, rows: Sequence[PlanRow], until: date) -> dict[str, TeamCalendar]:
    """Return the teams of those who could sit in a session, over the days of the plan, by id."""
    sessions = [seat.session for row in rows for seat in row.seats]
    if not sessions:
        return {}
    first = min(session.from_date for session in sessions)
    people = {row.person for row in rows if row.seats}
    teams: set[str] = set()
    for person_id in people:
        days = [first, *(day for day in find_days_of_belonging(base, person_id) if first < day <= until)]
        teams.update(get_person_on(base, person_id, day).team for day in days)
    asked = (team for team in teams - {""} if base.get_cover_needs(team) or base.get_places(team))
    return {team: TeamCalendar(base, team, first, until) for team in sorted(asked)}


def build_cover_rows(
    base: Snapshot, rows: Sequence[PlanRow], calendars: Mapping[str, TeamCalendar]
) -> tuple[CoverRow, ...]:
    """Return what keeps cover, each once; without what no choice of seats can break.

    Parameters
    ----------
    base : Snapshot
        What is known, with the outcomes of booked seats.
    calendars : Mapping of team id to TeamCalendar
        From `get_calendars` of the same.

    Notes
    -----
    O(days of sessions x needs x members), and one small Snapshot for each person and seat that could help.
    """
    seats = _Seats(base, rows)
    found: dict[CoverRow, None] = {}
    for day in sorted(seats.by_day):
        for team, people in seats.list_teams(day).items():
            if team not in calendars:
                continue
            presence = calendars[team].get_presence(day)
            for scope in build_need_scopes(presence):
                row = _build_row(seats, presence, scope, people, day)
                if row is not None:
                    found[row] = None
    return tuple(found)


def _build_row(
    seats: _Seats, presence: Presence, scope: NeedScope, people: Mapping[str, Sequence[SeatId]], day: date
) -> CoverRow | None:
    away = [person for person in scope.present if person in people]
    room = scope.depth - min(scope.need.minimum, scope.depth)
    if len(away) <= room:
        return None
    gains = tuple(_find_gains(seats, presence, scope, people, day))
    return CoverRow(tuple(seat for person in away for seat in people[person]), room, gains)


def _find_gains(
    seats: _Seats, presence: Presence, scope: NeedScope, people: Mapping[str, Sequence[SeatId]], day: date
) -> Iterable[Gain]:
    snapshot, need = presence.snapshot, scope.need
    competency = snapshot.competencies[need.competency]
    for person in presence.get_scope(scope.shift):
        is_there = person.id in presence.present_ids and person.id not in scope.present
        if not is_there or not is_appointed(snapshot, person.id, competency, need.level, day):
            continue
        after = seats.find_giving(person.id, need.competency, need.level, day)
        if after:
            yield Gain(after, tuple(people.get(person.id, ())))


class _Seats:
    """The seats of a plan by person and day, and what each gives."""

    def __init__(self, base: Snapshot, rows: Sequence[PlanRow]) -> None:
        self._base = base
        self._rows = rows
        self._of_person: defaultdict[str, list[tuple[SeatId, Session]]] = defaultdict(list)
        #: Day -> person -> the seats on it.
        self.by_day: defaultdict[date, defaultdict[str, list[SeatId]]] = defaultdict(lambda: defaultdict(list))
        self._after: dict[SeatId, Snapshot] = {}
        for number, row in enumerate(rows):
            for index, seat in enumerate(row.seats):
                self._of_person[row.person].append(((number, index), seat.session))
                day = seat.session.from_date
                while day <= seat.session.to_date:
                    self.by_day[day][row.person].append((number, index))
                    day += _DAY

    def list_teams(self, day: date) -> dict[str, dict[str, list[SeatId]]]:
        """Return team -> person -> seats on a day, by team."""
        teams: defaultdict[str, dict[str, list[SeatId]]] = defaultdict(dict)
        for person, seats in self.by_day[day].items():
            teams[get_person_on(self._base, person, day).team][person] = seats
        return dict(sorted(teams.items()))

    def find_giving(self, person_id: str, competency_id: str, level: int, day: date) -> tuple[SeatId, ...]:
        """Return the seats of a person that end before a day and give them a level on it."""
        return tuple(
            seat
            for seat, session in self._of_person.get(person_id, ())
            if session.to_date < day and self._gives(seat, session, competency_id, level, day)
        )

    def _gives(self, seat: SeatId, session: Session, competency_id: str, level: int, day: date) -> bool:
        # nothing that it could give, by itself or by what it hangs on or counts as, can matter
        taught = {row.competency for row in self._base.get_outcomes(session.course)}
        if taught.isdisjoint(add_what_they_rest_on(self._base, [competency_id])):
            return False
        person_id = self._rows[seat[0]].person
        if seat not in self._after:
            alone = _keep_person(self._base, person_id)
            self._after[seat] = with_outcomes(alone, [(person_id, session.course, session.to_date)])
        after = self._after[seat]
        return (get_level(after, person_id, after.competencies[competency_id], day).level or 0) >= level


def _keep_person(base: Snapshot, person_id: str) -> Snapshot:
    """Return the Snapshot of one person with all courses and competencies: adding outcomes copies no more than that."""
    tables = ("competencies", "equivalences", "courses", "outcomes")
    return Snapshot(
        {
            **{name: base.get_table(name).values() for name in tables},
            "people": [base.people[person_id]],
            "assessments": base.get_assessments(person_id),
        }
    )
