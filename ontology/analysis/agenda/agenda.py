"""Everything dated of a person, or of a team's people, day by day: what is past first. Pure.

Nothing is worked out here: what must be held, what is open of newcomers' plans, seats and appointments are told as the
answers about them tell it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Final, Literal, get_args

from ontology.analysis.obligations.bound import Key
from ontology.analysis.obligations.due import Due, DueState
from ontology.analysis.obligations.due_lists import find_people_at_home
from ontology.analysis.obligations.first_act import FirstAct
from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.must_hold import find_days
from ontology.analysis.obligations.rows import find_act, judge
from ontology.analysis.orientation.open_orientation import find_open_items, find_starts
from ontology.analysis.profiles.seats import get_coming_seats
from ontology.model.identity import CountOf, PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LONGEST_DAYS",
    "PERSON_DAYS",
    "TEAM_DAYS",
    "AgendaCount",
    "AgendaKind",
    "AgendaRow",
    "PersonAgenda",
    "TeamAgenda",
    "build_person_agenda",
    "build_team_agenda",
]

AgendaKind = Literal["appointment", "obligation", "orientation", "session"]

#: How many days after the day asked about are looked at, unless told otherwise.
PERSON_DAYS: Final = 90
TEAM_DAYS: Final = 14
LONGEST_DAYS: Final = 366
_DUE: Final[tuple[DueState, ...]] = ("overdue", "within-30", "within-60", "within-90")
_ACTS: Final = {
    "restore": "renew what it hangs on",
    "assess": "assess it",
    "renew": "renew it",
    "learn": "learn it",
    "none": "no single course reaches it",
}


@dataclass(frozen=True, slots=True)
class AgendaRow:
    """One thing that is dated."""

    day: Annotated[date, "The day: of something to be held the last day to act, else its due day; else the first day."]
    last_day: Annotated[date, "The last day, where it takes several."]
    kind: Annotated[AgendaKind, "appointment (it ends), obligation, orientation (an open item) or session (a seat)."]
    person: Annotated[PersonId, "Id of the person."]
    id: Annotated[str, "Id of the competency, of the item or of the session."]
    level: Annotated[int | None, "Of an obligation or appointment, the level; null: none, or any."]
    due: Annotated[date | None, "Of an obligation, its due day; null: no day is known, or it is none."]
    what: Annotated[str, "What it is, in words."]
    is_late: Annotated[bool, "Whether its day has passed, or it can no longer be in time."]


@dataclass(frozen=True, slots=True)
class PersonAgenda:
    """Everything dated of a person."""

    person: Annotated[PersonId, "Id of the person."]
    on: Annotated[date, "The day asked about."]
    until: Annotated[date, "The last day looked at."]
    rows: Annotated[tuple[AgendaRow, ...], "By day, kind and id; what is past first."]


@dataclass(frozen=True, slots=True)
class AgendaCount:
    """How many people of a team have something of a kind in these days."""

    kind: Annotated[AgendaKind, "appointment, obligation, orientation or session."]
    members: Annotated[PeopleCount, "People of the team."]
    people: Annotated[int, CountOf(of="members"), "Of them, those with something of the kind."]


@dataclass(frozen=True, slots=True)
class TeamAgenda:
    """Everything dated of the people of a team."""

    team: Annotated[str, "Id of the team."]
    on: Annotated[date, "The day asked about."]
    until: Annotated[date, "The last day looked at."]
    counts: Annotated[tuple[AgendaCount, ...], "How many people have something of each kind."]
    rows: Annotated[tuple[AgendaRow, ...], "By day, kind, person and id; what is past first."]


def build_person_agenda(snapshot: Snapshot, person_id: str, on: date, *, days: int = PERSON_DAYS) -> PersonAgenda:
    """Return everything dated of a person, up to so many days after a day.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    snapshot.require_person(person_id)
    until = _find_last_day(on, days)
    return PersonAgenda(person_id, on, until, _build_rows(snapshot, [person_id], on, until))


def build_team_agenda(snapshot: Snapshot, team_id: str, on: date, *, days: int = TEAM_DAYS) -> TeamAgenda:
    """Return everything dated of who belongs to a team on a day, or on their first one, up to so many days after it.

    Raises
    ------
    UnknownIdError
        There is no such team.
    """
    snapshot.require_team(team_id)
    until = _find_last_day(on, days)
    people = find_people_at_home(snapshot, team_id, on, parts=False)
    rows = _build_rows(snapshot, people, on, until)
    having = {kind: len({row.person for row in rows if row.kind == kind}) for kind in get_args(AgendaKind)}
    counts = tuple(AgendaCount(kind, len(people), n) for kind, n in having.items())
    return TeamAgenda(team_id, on, until, counts, rows)


def _find_last_day(on: date, days: int) -> date:
    return date.max if (date.max - on).days < days else on + timedelta(days=days)


def _build_rows(snapshot: Snapshot, people: Iterable[str], on: date, until: date) -> tuple[AgendaRow, ...]:
    there = [i for i in people if (snapshot.people[i].end_date or date.max) >= on]
    rows = [
        *_iterate_obligations(snapshot, there, on),
        *_iterate_items(snapshot, there, on),
        *_iterate_sessions(snapshot, there, on),
        *_iterate_appointments(snapshot, there, on),
    ]
    rows.sort(key=lambda row: (row.day, row.kind, row.person, row.id, row.level or 0))
    return tuple([row for row in rows if row.day <= until])


def _iterate_obligations(snapshot: Snapshot, people: Sequence[str], on: date) -> Iterator[AgendaRow]:
    known = leave_out_later(snapshot, on, people)
    for person_id in people:
        for key, due in judge(known, person_id, find_days(known, person_id), on):
            if due.state in _DUE:
                yield _build_obligation(known, person_id, key, due, on)


def _build_obligation(known: Snapshot, person_id: str, key: Key, due: Due, on: date) -> AgendaRow:
    due_day, first, last = find_act(known, person_id, key, due, on)
    day = last.day
    if day is None or day < on:
        day = due_day or on
    what = _tell_obligation(known, key, first)
    if last.booked_session:
        what += f", booked for {known.sessions[last.booked_session].from_date}"
    if due_day:
        what += f", due {due_day}"
    return AgendaRow(day, day, "obligation", person_id, *key, due_day, what, last.is_late)


def _tell_obligation(known: Snapshot, key: Key, first: FirstAct | None) -> str:
    competency_id, level = key
    competency = known.competencies[competency_id]
    has_levels = len(known.scales.get(competency.scale, ())) > 1
    what = f"{competency.label} at level {level}" if has_levels else competency.label
    act = _ACTS[first.act if first else "none"]
    return f"{what}: {act} by {first.course.label}" if first and first.course else f"{what}: {act}"


def _iterate_items(snapshot: Snapshot, people: Iterable[str], on: date) -> Iterator[AgendaRow]:
    for start in find_starts(snapshot, on, people):
        for item in find_open_items(snapshot, on, start):
            is_late = item.state == "overdue"
            yield AgendaRow(item.due, item.due, "orientation", start.person, item.item, None, None, item.label, is_late)


def _iterate_sessions(snapshot: Snapshot, people: Iterable[str], on: date) -> Iterator[AgendaRow]:
    for person_id in people:
        for session in get_coming_seats(snapshot, person_id, on):
            what = snapshot.courses[session.course].label + (f", {session.where}" if session.where else "")
            days = session.from_date, session.to_date
            yield AgendaRow(*days, "session", person_id, session.id, None, None, what, False)


def _iterate_appointments(snapshot: Snapshot, people: Iterable[str], on: date) -> Iterator[AgendaRow]:
    for person_id in people:
        for row in snapshot.get_appointments_of_person(person_id):
            if row.to_date is not None and row.to_date >= on:
                what = f"{snapshot.competencies[row.competency].label}: the appointment ends"
                day = row.to_date
                yield AgendaRow(day, day, "appointment", person_id, row.competency, row.level, None, what, False)
