"""Who is employed on a day, of which team and role, and who of a team holds a competency at a level. Pure.

By name, never by level; levels are told of one team at a time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.presence import find_members, is_absent, is_employed
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_people_of_team, get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.model.folding import fold, split_words
from ontology.model.identity import PersonId
from ontology.model.records import Person
from ontology.snapshot.names import is_called, sort_people
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FoundPerson", "WhoCanResult", "find_who_can"]


@dataclass(frozen=True, slots=True)
class FoundPerson:
    """Someone employed on the day, as they are on it; what is told of a level is null where none was asked for."""

    person: Annotated[PersonId, "Id of the person."]
    team: Annotated[str | None, "Id of their team on the day; null: none."]
    shift: Annotated[str | None, "Id of their shift; null: none."]
    role: Annotated[str | None, "Id of their role; null: none."]
    is_absent: Annotated[bool, "Whether they are not there on the day: a recorded absence, or a session."]
    is_appointed: Annotated[bool | None, "Whether the employer has appointed them, where that is asked for; else null."]
    have: Annotated[int | None, "The level that counts; null: never assessed, or none was asked for."]
    state: Annotated[str | None, "Whether it still counts."]
    source: Annotated[str | None, "Who assessed it."]
    assessed_on: Annotated[date | None, "The day it was assessed."]
    valid_until: Annotated[date | None, "The last day it counts; null where it has no end."]
    by_equivalence: Annotated[str | None, "The other competency that it counts by; null: held itself."]


@dataclass(frozen=True, slots=True)
class WhoCanResult:
    """The people who fit what was asked, by name and id."""

    on: Annotated[date, "The day asked about."]
    q: Annotated[str, "Words of the name."]
    team: Annotated[str | None, "The team; null: all."]
    role: Annotated[str | None, "The role held; null: any."]
    competency: Annotated[str | None, "The competency whose level is told; null: none."]
    level: Annotated[int | None, "The level held at the least; null: any, and who holds none too."]
    people: Annotated[tuple[FoundPerson, ...], "Who fits, by name and id."]


def find_who_can(
    snapshot: Snapshot,
    on: date,
    *,
    q: str = "",
    team: str | None = None,
    role: str | None = None,
    competency: str | None = None,
    level: int | None = None,
) -> WhoCanResult:
    """Return who is employed on a day and fits, and what they hold of a competency.

    Parameters
    ----------
    q : str
        Words of the name, each whole or begun; an id finds its person too.
    team : str or None
        Members of the team itself on the day.
    role : str or None
        Who holds this role on the day.
    competency : str or None
        Whose level is told.
    level : int or None
        Only who holds at least this level of it.

    Raises
    ------
    UnknownIdError
        There is no such competency.

    Notes
    -----
    O(people) for the whole company, O(members) for a team, with one look-up of a level each.
    """
    people: Iterable[Person] = snapshot.people.values()
    if team is not None:
        people = find_members(snapshot, get_people_of_team(snapshot, team), team, on)
    wanted = split_words(q)
    found = []
    for person in people:
        there = get_person_on(snapshot, person.id, on)
        if is_employed(person, on) and role in (None, there.role) and _fits(there, q, wanted):
            row = _build(snapshot, there, competency, level, on)
            if level is None or (row.have or 0) >= level:
                found.append(row)
    order = {person: n for n, person in enumerate(sort_people(snapshot.people, [row.person for row in found]))}
    found.sort(key=lambda row: order[row.person])
    return WhoCanResult(on, q, team, role, competency, level, tuple(found))


def _fits(person: Person, q: str, wanted: list[str]) -> bool:
    if not q.strip() or fold(q) == fold(person.id):
        return True
    return bool(wanted) and is_called(person, wanted)


def _build(snapshot: Snapshot, person: Person, competency_id: str | None, level: int | None, on: date) -> FoundPerson:
    known, appointed = None, None
    if competency_id is not None:
        competency = snapshot.require_competency(competency_id)
        known = get_level(snapshot, person.id, competency, on)
        if competency.appointment and known.level:
            appointed = is_appointed(snapshot, person.id, competency, level or known.level, on)
    basis = known.basis if known is not None else None
    return FoundPerson(
        person=person.id,
        team=person.team or None,
        shift=person.shift or None,
        role=person.role or None,
        is_absent=is_absent(snapshot, person.id, on),
        is_appointed=appointed,
        have=known.level if known is not None else None,
        state=known.state if known is not None else None,
        source=basis.source if basis else None,
        assessed_on=basis.date if basis else None,
        valid_until=basis.valid_until if basis else None,
        by_equivalence=(known.by_equivalence or None) if known is not None else None,
    )
