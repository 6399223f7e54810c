"""Who belongs to a team on a date, who of them is there, and what level each holds. Pure.

May import the snapshot, records, levels and errors. Members of sub-teams do not count in the parent.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from ontology.analysis.levels import get_level
from ontology.graph.snapshot import Snapshot
from ontology.records import Person

__all__ = ["Presence", "get_presence", "is_absent", "is_employed"]


def is_employed(person: Person, on: date) -> bool:
    """Whether the person has started and not ended on the date; first and last day count."""
    has_started = person.start_date is None or person.start_date <= on
    return has_started and (person.end_date is None or on <= person.end_date)


def is_absent(snapshot: Snapshot, person_id: str, on: date) -> bool:
    """Whether a recorded absence holds the date; first and last day count."""
    return any(absence.from_date <= on <= absence.to_date for absence in snapshot.get_absences(person_id))


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
        Who has started and not ended, absent ones included, by id.
    present_ids : frozenset of str
        Members neither absent that day nor in `away`.
    """

    snapshot: Snapshot
    team: str
    on: date
    away: tuple[str, ...]
    members: tuple[Person, ...]
    present_ids: frozenset[str]
    _levels: dict[tuple[str, str], int] = field(default_factory=dict, compare=False, repr=False)

    @property
    def present(self) -> tuple[Person, ...]:
        """Members who are there, by id."""
        return tuple(person for person in self.members if person.id in self.present_ids)

    @property
    def absent_ids(self) -> tuple[str, ...]:
        """Ids of members who are not there, sorted."""
        return tuple(person.id for person in self.members if person.id not in self.present_ids)

    def get_level_rank(self, person_id: str, competency_id: str) -> int:
        """Return the level that counts on the date; 0 where it lapsed or was never assessed."""
        key = (person_id, competency_id)
        if key not in self._levels:
            competency = self.snapshot.require_competency(competency_id)
            self._levels[key] = get_level(self.snapshot, person_id, competency, self.on).level or 0
        return self._levels[key]

    def get_scope(self, shift_id: str | None) -> tuple[Person, ...]:
        """Return the members of a shift, or all of the team for None, absent ones included, by id."""
        return self.members if shift_id is None else tuple(p for p in self.members if p.shift == shift_id)


def get_presence(snapshot: Snapshot, team_id: str, on: date, away: Iterable[str] = ()) -> Presence:
    """Return who belongs to a team and who of them is there on a date.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
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
    gone = tuple(sorted(set(away)))
    for person_id in gone:
        snapshot.require_person(person_id)
    members = tuple(person for person in snapshot.get_members(team_id) if is_employed(person, on))
    present = frozenset(p.id for p in members if p.id not in gone and not is_absent(snapshot, p.id, on))
    return Presence(snapshot, team_id, on, gone, members, present)
