"""Who belongs to a team on a date, who of them is there, and what level each holds. Pure.

May import the snapshot, records, levels and errors. Members of sub-teams do not count in the parent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_people_of_team, get_person_on
from ontology.analysis.profiles.levels import Ranks, get_ranks
from ontology.analysis.profiles.seats import get_sessions_attended
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Presence",
    "build_presences",
    "find_absences",
    "find_absent_days",
    "find_members",
    "get_presence",
    "is_absent",
    "is_employed",
]


_T = TypeVar("_T")


class _KnownRanks(dict[tuple[str, str], int]):
    """(person, competency) -> level of everyone who has one; nobody else has."""

    def __missing__(self, key: tuple[str, str]) -> int:
        return 0


def is_employed(person: Person, on: date) -> bool:
    """Whether the person has started and not ended on the date; first and last day count."""
    has_started = person.start_date is None or person.start_date <= on
    return has_started and (person.end_date is None or on <= person.end_date)


def find_absences(snapshot: Snapshot, person_id: str) -> tuple[tuple[date, date], ...]:
    """Return the first and last day of each time someone is not there: recorded absences and sessions with a seat."""
    absences = snapshot.get_absences(person_id)
    if not absences and not snapshot.get_bookings(person_id):
        return ()
    spans = [(row.from_date, row.to_date) for row in absences]
    spans += [(row.from_date, row.to_date) for row in get_sessions_attended(snapshot, person_id)]
    return tuple(sorted(spans))


def is_absent(snapshot: Snapshot, person_id: str, on: date) -> bool:
    """Whether someone is not there on a date: a recorded absence or a session holds it; first and last day count."""
    return any(first <= on <= last for first, last in find_absences(snapshot, person_id))


def find_absent_days(snapshot: Snapshot, person_id: str, on: date) -> tuple[tuple[int, int], ...]:
    """Return the times from a day on at which someone is not there, as (first, last) in days after it.

    Those that touch or overlap are one; sorted. O(n log n) for n of them.
    """
    found: list[tuple[int, int]] = []
    for begin, end in find_absences(snapshot, person_id):
        first, last = max((begin - on).days, 0), (end - on).days
        if last < 0:
            continue
        if found and first <= found[-1][1] + 1:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return tuple(found)


@dataclass(frozen=True)
class Presence:
    """A team on a date.

    Attributes
    ----------
    team : str
    on : date
    away : tuple of str
        Ids asked to be taken as absent, sorted; also those of other teams, who change nothing.
    members : tuple of Person
        Who belongs to the team that day, has started and not ended, absent ones included, by id; each with the team,
        shift and role of the day.
    present_ids : frozenset of str
        Members neither absent that day nor in `away`.
    """

    snapshot: Snapshot
    team: str
    on: date
    away: tuple[str, ...]
    members: tuple[Person, ...]
    present_ids: frozenset[str]
    _ranks: Mapping[tuple[str, str], int] = field(compare=False, repr=False)

    @property
    def present(self) -> tuple[Person, ...]:
        """Members who are there, by id."""
        return tuple(person for person in self.members if person.id in self.present_ids)

    @property
    def absent_ids(self) -> tuple[str, ...]:
        """Ids of members who are not there, sorted."""
        return tuple(person.id for person in self.members if person.id not in self.present_ids)

    def keep(self, key: str, build: Callable[[], _T]) -> _T:
        """Return what follows from the team's day, whoever is away; kept where the levels are the Snapshot's own."""
        return _keep(self._ranks, self.team, key, build)

    def get_level_rank(self, person_id: str, competency_id: str) -> int:
        """Return the level that counts on the date; 0 where it lapsed or was never assessed."""
        return self._ranks[person_id, competency_id]

    def find_qualified(self, person_ids: Iterable[str], competency_id: str, level: int) -> list[str]:
        """Return those of some people who hold a level on the date, in order."""
        ranks = self._ranks
        return [i for i in person_ids if ranks[i, competency_id] >= level]

    def counts_for(self, person_id: str, competency_id: str, level: int) -> bool:
        """Whether someone holds a level, and is appointed where only those who are count."""
        if self._ranks[person_id, competency_id] < level:
            return False
        competency = self.snapshot.competencies[competency_id]
        return not competency.appointment or is_appointed(self.snapshot, person_id, competency, level, self.on)

    def get_scope(self, shift_id: str | None) -> tuple[Person, ...]:
        """Return the members of a shift, or all of the team for None, absent ones included, by id."""
        return self.members if shift_id is None else tuple(p for p in self.members if p.shift == shift_id)


def get_presence(snapshot: Snapshot, team_id: str, on: date, away: Iterable[str] = ()) -> Presence:
    """Return who belongs to a team and who of them is there on a date.

    Parameters
    ----------
    away : iterable of str
        People taken as absent on top of the recorded absences.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.

    Notes
    -----
    O(n log n) for n members and their absences; levels are looked up when they are asked for, once.
    """
    snapshot.require_team(team_id)
    return _build(snapshot, team_id, on, _require_people(snapshot, away), get_ranks(snapshot, on))


def build_presences(
    snapshot: Snapshot, on: date, levels: Mapping[str, Mapping[str, int]], away: Iterable[str] = ()
) -> dict[str, Presence]:
    """Return every team that has cover needs or places on a date, by id, from levels that are known already.

    Parameters
    ----------
    levels : Mapping of competency id to Mapping of person id to level
        Of every competency that a need or a place asks for, everyone who has a level on the date.
    away : iterable of str
        People taken as absent on top of the recorded absences.

    Raises
    ------
    UnknownIdError
        `away` names someone who does not exist.

    Notes
    -----
    O(people + levels); a level that is not among them counts as none.
    """
    gone = _require_people(snapshot, away)
    ranks = _KnownRanks(
        ((person_id, competency_id), rank) for competency_id, held in levels.items() for person_id, rank in held.items()
    )
    return {
        team_id: _build(snapshot, team_id, on, gone, ranks)
        for team_id in snapshot.teams
        if snapshot.get_cover_needs(team_id) or snapshot.get_places(team_id)
    }


def _require_people(snapshot: Snapshot, away: Iterable[str]) -> tuple[str, ...]:
    gone = tuple(sorted(set(away)))
    for person_id in gone:
        snapshot.require_person(person_id)
    return gone


def _build(
    snapshot: Snapshot, team_id: str, on: date, gone: tuple[str, ...], ranks: Mapping[tuple[str, str], int]
) -> Presence:
    members, there = _keep(ranks, team_id, "members", lambda: _find_members(snapshot, team_id, on))
    return Presence(snapshot, team_id, on, gone, members, there.difference(gone), ranks)


def _find_members(snapshot: Snapshot, team_id: str, on: date) -> tuple[tuple[Person, ...], frozenset[str]]:
    """Return who belongs to a team on a date, by id, and the ids of those who have no absence."""
    members = find_members(snapshot, get_people_of_team(snapshot, team_id), team_id, on)
    return members, frozenset([p.id for p in members if not is_absent(snapshot, p.id, on)])


def find_members(snapshot: Snapshot, people: Iterable[Person], team_id: str, on: date) -> tuple[Person, ...]:
    """Return those of some people who are employed and belong to a team on a day, as they are that day, in order."""
    there = [person for person in people if is_employed(person, on)]
    if snapshot.get_table("memberships"):
        there = [get_person_on(snapshot, person.id, on) for person in there]
    return tuple([person for person in there if person.team == team_id])


def _keep(ranks: Mapping[tuple[str, str], int], team_id: str, key: str, build: Callable[[], _T]) -> _T:
    return ranks.keep((key, team_id), build) if isinstance(ranks, Ranks) else build()
