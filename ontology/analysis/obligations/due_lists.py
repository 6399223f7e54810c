"""What a person, or the people of a team, must hold by when: the lists that are looked at every week. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.rows import (
    Counts,
    ObligationRow,
    build_rows,
    count_states,
    get_home_on,
    sort_rows,
)
from ontology.analysis.profiles.belonging import get_people_of_team, get_teams_above
from ontology.model.identity import CountOf, PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "PersonObligations",
    "TeamObligations",
    "find_obligations",
    "find_people_at_home",
    "find_person_obligations",
    "find_team_obligations",
]


@dataclass(frozen=True, slots=True)
class PersonObligations:
    """What a person must hold, and how it stands."""

    person: Annotated[PersonId, "Id of the person."]
    on: Annotated[dt.date, "The day asked about."]
    counts: Annotated[Counts, "How many rows stand so."]
    rows: Annotated[tuple[ObligationRow, ...], "What must be held on some day of the year to come; overdue first."]


@dataclass(frozen=True, slots=True)
class TeamObligations:
    """What the people of a team must hold, and how it stands."""

    team: Annotated[str, "Id of the team."]
    on: Annotated[dt.date, "The day asked about."]
    people: Annotated[PeopleCount, "People who must hold something."]
    people_overdue: Annotated[int, CountOf(of="people"), "Of them, those with something overdue."]
    counts: Annotated[Counts, "How many rows stand so."]
    rows: Annotated[
        tuple[ObligationRow, ...],
        "What must be held on some day of the year to come; overdue first, then by due day, person, competency, level.",
    ]


def find_obligations(snapshot: Snapshot, on: dt.date, people: Iterable[str]) -> list[ObligationRow]:
    """Return what some people must hold on some day of the year to come, in the order in which it is told.

    O(what is asked of them x what they have).
    """
    ids = list(people)
    known = leave_out_later(snapshot, on, ids)
    return sort_rows(row for person_id in ids for row in build_rows(known, person_id, on))


def find_person_obligations(snapshot: Snapshot, person_id: str, *, on: dt.date) -> PersonObligations:
    """Return what a person must hold.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    snapshot.require_person(person_id)
    rows = find_obligations(snapshot, on, [person_id])
    return PersonObligations(person_id, on, count_states(row.state for row in rows), tuple(rows))


def find_team_obligations(snapshot: Snapshot, team_id: str, *, on: dt.date, parts: bool = False) -> TeamObligations:
    """Return what the people of a team must hold.

    Parameters
    ----------
    parts : bool
        Whether those of the teams that are part of it belong to it too.

    Raises
    ------
    UnknownIdError
        There is no such team.
    """
    snapshot.require_team(team_id)
    rows = find_obligations(snapshot, on, find_people_at_home(snapshot, team_id, on, parts=parts))
    overdue = {row.person for row in rows if row.state == "overdue"}
    counts = count_states(row.state for row in rows)
    return TeamObligations(team_id, on, len({row.person for row in rows}), len(overdue), counts, tuple(rows))


def find_people_at_home(snapshot: Snapshot, team_id: str, on: dt.date, *, parts: bool) -> list[str]:
    """Return who belongs to a team on a day, or on their first one, by id."""
    teams = {i for i in snapshot.teams if team_id in get_teams_above(snapshot, i)} if parts else {team_id}
    people: Mapping[str, None] = dict.fromkeys(
        person.id
        for team in sorted(teams)
        for person in get_people_of_team(snapshot, team)
        if get_home_on(snapshot, person, on) == team
    )
    return sorted(people)
