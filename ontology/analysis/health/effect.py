"""Whom and how much a record touches: the people whose role or team rests on it, and the rows that name it. Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Set
from datetime import date
from typing import Any, Final

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.health.faults import Fault
from ontology.analysis.profiles.belonging import get_person_on
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Effects"]

#: Present role and team of people; all who have both alike are counted together.
_Group = tuple[str, str]
_NOBODY: Final[frozenset[_Group]] = frozenset()
_NO_ROWS: Final[frozenset[int]] = frozenset()
_TARGETS: Final = ("scales", "competencies", "roles", "courses")


class Effects:
    """What rests on the records of a state, on a day.

    A competency bears the people whose role asks it, and those of a team with a need of it or a place whose role asks
    it; a role its people and those of a team with a place of it; a course what it teaches, a scale what is measured on
    it; a need and a place their team; any other row that is not about people what it names. Rows about people are not
    counted among those that name a record: their number would tell of few.

    Notes
    -----
    O(records + roles held in teams x what these ask).
    """

    def __init__(self, snapshot: Snapshot, on: date) -> None:
        self._snapshot = snapshot
        self._people = Counter(
            (person.role, person.team)
            for person in (get_person_on(snapshot, person_id, on) for person_id in snapshot.people)
            if is_employed(person, on)
        )
        self._by_competency: defaultdict[str, set[_Group]] = defaultdict(set)
        self._by_role: defaultdict[str, set[_Group]] = defaultdict(set)
        self._by_team: defaultdict[str, set[_Group]] = defaultdict(set)
        self._records: dict[str, dict[str, Any]] = {}
        for group in self._people:
            self._add(group)
        self._naming = _find_naming(snapshot)

    def _add(self, group: _Group) -> None:
        role, team = group
        roles = {role, *(place.role for place in self._snapshot.get_places(team))} - {""}
        self._by_team[team].add(group)
        for one in roles:
            self._by_role[one].add(group)
            for requirement in self._snapshot.get_requirements(one):
                self._by_competency[requirement.competency].add(group)
        for need in self._snapshot.get_cover_needs(team):
            self._by_competency[need.competency].add(group)

    def count_people(self, fault: Fault) -> int:
        """Return how many employed people rest on a fault's record, or on either of a pair."""
        groups = self._find_groups(fault.table, fault.id) | self._find_groups(fault.table, fault.other)
        return sum(self._people[group] for group in groups)

    def count_rows(self, fault: Fault) -> int:
        """Return how many rows that are not about people name a fault's record, or either of a pair."""
        naming = self._naming.get(fault.table, {})
        ids = (fault.id or "", fault.other or "")
        if fault.table == "scales":
            ids = (ids[0].partition("~")[0], ids[1].partition("~")[0])
        return len(naming.get(ids[0], _NO_ROWS) | naming.get(ids[1], _NO_ROWS))

    def _find_groups(self, table: str, record_id: str | None) -> Set[_Group]:
        if not record_id or table in PERSONAL_TABLES:
            return _NOBODY
        if table == "competencies":
            return self._by_competency.get(record_id, _NOBODY)
        if table == "roles":
            return self._by_role.get(record_id, _NOBODY)
        if table == "scales":  # a level bears what its scale does
            of_scale = self._snapshot.get_competencies_of_scale(record_id.partition("~")[0])
            return self._join("competencies", [one.id for one in of_scale])
        if table == "courses":
            return self._join("competencies", [one.competency for one in self._snapshot.get_outcomes(record_id)])
        return self._find_groups_of_row(table, record_id)

    def _find_groups_of_row(self, table: str, record_id: str) -> Set[_Group]:
        if table not in self._records:
            rows = self._snapshot.get_table(table)
            self._records[table] = {"~".join(map(str, key)): record for key, record in rows.items()}
        record = self._records[table].get(record_id)
        if record is None:
            return _NOBODY
        if table in ("cover_needs", "places"):
            return self._by_team.get(record.team, _NOBODY)
        if table == "requirements":
            return self._by_role.get(record.role, _NOBODY)
        return _NOBODY.union(*(self._join(to, _list_named(table, record, to)) for to in _TARGETS))

    def _join(self, table: str, ids: Iterable[str]) -> Set[_Group]:
        return _NOBODY.union(*(self._find_groups(table, one) for one in ids))


def _find_naming(snapshot: Snapshot) -> dict[str, dict[str, set[int]]]:
    """Return table -> id -> the numbers of the rows that are not about people and name it."""
    naming: dict[str, dict[str, set[int]]] = {to: {} for to in _TARGETS}
    number = 0
    for name in TABLES:
        targets = [to for to in _TARGETS if name not in PERSONAL_TABLES and get_reference_fields(name, to)]
        for record in snapshot.get_table(name).values() if targets else ():
            number += 1
            for to in targets:
                for one in _list_named(name, record, to):
                    naming[to].setdefault(one, set()).add(number)
    return naming


def _list_named(name: str, record: Any, to: str) -> list[str]:
    """Return the ids of records of one table that a record of another names."""
    found: list[str] = []
    for field in get_reference_fields(name, to):
        value = getattr(record, field)
        if isinstance(value, tuple):
            found += value
        elif value and is_referring(name, record, to, field):
            found.append(value)
    return found
