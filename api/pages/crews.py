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

#: Name of a crew, and its members.
_People = tuple[tuple[str, tuple[Person, ...]], ...]
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
    names = Names(snapshot)
    kept: dict[tuple[str, dt.date], _People] = snapshot.keep("members by crew", dict)
    crews = find_kept(kept, (team_id, on), _MOST_DAYS, lambda: _list_people(snapshot, team_id, on, names))

    def show(person: Person) -> CrewMember:
        is_locked = person.id in absent
        return CrewMember(
            names.refer("people", person.id),
            names.ref("roles", person.role) if person.role else None,
            is_locked or person.id in away,
            is_locked,
            tell_absence(snapshot, person.id, on) if is_locked else "",
        )

    return tuple([Crew(name, tuple([show(person) for person in people])) for name, people in crews])


def _list_people(snapshot: Snapshot, team_id: str, on: dt.date, names: Names) -> _People:
    """Return the name of each crew that has members, and who they are, by name."""
    members = get_presence(snapshot, team_id, on).members
    shifts = [shift.id for shift in snapshot.get_shifts(team_id)]
    shifts += sorted({person.shift for person in members} - {*shifts, ""})
    by_name = sorted(members, key=lambda p: (names.person(p.id), p.id))
    crews = [(names.shift(shift), tuple([p for p in by_name if p.shift == shift])) for shift in shifts]
    crews.append(("No crew" if shifts else "Members", tuple([p for p in by_name if not p.shift])))
    return tuple([crew for crew in crews if crew[1]])


def tell_absence(snapshot: Snapshot, person_id: str, on: dt.date) -> str:
    """Return until when someone who is away is so."""
    days = find_absent_days(snapshot, person_id, on)
    if not days or days[0][0] > 0:
        return "recorded away"
    last = on + dt.timedelta(days=days[0][1])
    is_recorded = any(row.from_date <= on <= row.to_date for row in snapshot.get_absences(person_id))
    in_session = any(row.from_date <= on <= row.to_date for row in get_sessions_attended(snapshot, person_id))
    return f"{'in a session' if in_session and not is_recorded else 'recorded away'} until {last}"
