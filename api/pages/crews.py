"""The members of a team on a day by crew, and who of them is away: recorded, or only supposed to be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from typing import Final, NamedTuple

from api.desk.bounded import find_kept
from api.desk.names import Names
from api.desk.sheet import Ref
from ontology.analysis.cover.presence import find_absent_days, get_presence
from ontology.analysis.profiles.seats import get_sessions_attended
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Crew", "CrewMember", "list_crews", "tell_absence"]

#: A team, a day, and who is recorded away.
_Recorded = tuple[str, dt.date, frozenset[str]]
#: Teams on days of which it is kept who is in which crew.
_MOST_DAYS: Final = 500


class CrewMember(NamedTuple):
    """A member: `is_locked` for who is recorded away, `note` says until when."""

    person: Ref
    role: Ref | None
    is_away: bool
    is_locked: bool
    note: str = ""


class Crew(NamedTuple):
    """Those of one shift, or those of none."""

    name: str
    members: tuple[CrewMember, ...]


def list_crews(
    snapshot: Snapshot, team_id: str, on: dt.date, *, absent: Collection[str] = (), away: Collection[str] = ()
) -> tuple[Crew, ...]:
    """Return the members of a team on a day, by shift as the team lists them, those without one last; each by name.

    Parameters
    ----------
    absent : collection of str
        Who is recorded away: what the answer without `away` calls absent.
    away : collection of str
        Who is only supposed to be.
    """
    kept: dict[_Recorded, tuple[Crew, ...]] = snapshot.keep("members by crew", dict)
    key = team_id, on, frozenset(absent)
    crews = find_kept(kept, key, _MOST_DAYS, lambda: _list_recorded(snapshot, *key))
    return tuple([_suppose_away(crew, away) for crew in crews]) if away else crews


def _suppose_away(crew: Crew, away: Collection[str]) -> Crew:
    """Return a crew with some of its members ticked as away."""
    members = [row._replace(is_away=True) if row.person.id in away else row for row in crew.members]
    return Crew(crew.name, tuple(members))


def _list_recorded(snapshot: Snapshot, team_id: str, on: dt.date, absent: Collection[str]) -> tuple[Crew, ...]:
    """Return each crew that has members, by name, nobody supposed away."""
    names = Names(snapshot)

    def show(person: Person) -> CrewMember:
        is_away = person.id in absent
        role = names.refer("roles", person.role) if person.role else None
        note = tell_absence(snapshot, person.id, on) if is_away else ""
        return CrewMember(names.refer("people", person.id), role, is_away, is_away, note)

    people = get_presence(snapshot, team_id, on).members
    shifts = [shift.id for shift in snapshot.get_shifts(team_id)]
    shifts += sorted({person.shift for person in people} - {*shifts, ""})
    by_name = sorted(people, key=lambda p: (names.person(p.id), p.id))
    crews = [Crew(names.shift(shift), tuple([show(p) for p in by_name if p.shift == shift])) for shift in shifts]
    crews.append(Crew("No crew" if shifts else "Members", tuple([show(p) for p in by_name if not p.shift])))
    return tuple([crew for crew in crews if crew.members])


def tell_absence(snapshot: Snapshot, person_id: str, on: dt.date) -> str:
    """Return until when someone who is away is so."""
    days = find_absent_days(snapshot, person_id, on)
    if not days or days[0][0] > 0:
        return "recorded away"
    last = on + dt.timedelta(days=days[0][1])
    is_recorded = any(row.from_date <= on <= row.to_date for row in snapshot.get_absences(person_id))
    in_session = any(row.from_date <= on <= row.to_date for row in get_sessions_attended(snapshot, person_id))
    return f"{'in a session' if in_session and not is_recorded else 'recorded away'} until {last}"
