"""Which records, of those that differ between two states, can have changed something about a team or a person. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import cached_property
from typing import Any, Final

from ontology.analysis.effect.team_day import NeedKey, TeamDay
from ontology.analysis.effect.telling import Edits, find_edits
from ontology.analysis.profiles.levels import get_linked
from ontology.analysis.profiles.own_levels import is_counted
from ontology.model.columns import Key
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Records", "Touching"]

#: Table and key of each.
Records = frozenset[tuple[str, Key]]
#: Tables of what someone is, where, and away from; each record names its person.
_OF_PEOPLE: Final = ("memberships", "absences", "bookings", "assessments", "appointments")


class Touching:
    """The records that differ between two states in what computes, found by what they can change.

    Parameters
    ----------
    before_on, on : date
        The day on which each is looked at: what is dated and holds neither day changes nothing.
    """

    def __init__(self, before: Snapshot, after: Snapshot, before_on: date, on: date) -> None:
        self._before, self._after = before, after
        self._sides = ((before, before_on), (after, on))
        self.edits: Edits = find_edits(before, after)

    @cached_property
    def _by_person(self) -> dict[tuple[str, str], list[tuple[Key, tuple[Any, Any]]]]:
        found: defaultdict[tuple[str, str], list[tuple[Key, tuple[Any, Any]]]] = defaultdict(list)
        for name in _OF_PEOPLE:
            for key, pair in self.edits.get(name, {}).items():
                # what is set aside with a competency that is retired is recorded as it was
                if not any(key in state.retired.get_table(name) for state, _ in self._sides):
                    found[name, (pair[0] or pair[1]).person].append((key, pair))
        return found

    def find(self, table: str, keys: Iterable[Key]) -> Records:
        """Return those of some records that differ."""
        edits = self.edits.get(table, {})
        return frozenset((table, key) for key in keys if key in edits)

    def of_competency(self, competency_id: str) -> Records:
        """Return what can have changed what a level of a competency rests on, whoever has it."""
        closure = self._rests_on(competency_id)
        found = set(self.find("competencies", [(i,) for i in closure]))
        for name, field in (("equivalences", "counts_as"), ("replacements", "new")):
            for key, pair in self.edits.get(name, {}).items():
                if any(row is not None and getattr(row, field) in closure for row in pair):
                    found.add((name, key))
        # levels are read on the scales of these, and by the maps between them
        rows = (state.get_all("competencies").get((i,)) for state, _ in self._sides for i in closure)
        scales = {row.scale for row in rows if row is not None}
        found |= {("scales", key) for key in self.edits.get("scales", ()) if key[0] in scales}
        found |= {("level_maps", key) for key in self.edits.get("level_maps", ()) if scales.issuperset(key[:2])}
        return frozenset(found)

    def of_level(self, person_id: str, competency_id: str) -> Records:
        """Return what can have changed a person's level in a competency."""
        closure = self._rests_on(competency_id)

        def counts(row: Any, state: Snapshot, on: date) -> bool:
            competency = state.competencies.get(row.competency)
            is_one = row.competency in closure and competency is not None and is_counted(row, competency)
            return is_one and bool(row.date <= on)

        return self.of_competency(competency_id) | self._of_person("assessments", person_id, counts)

    def of_belonging(self, person_id: str) -> Records:
        """Return what can have changed where someone belongs, and whether they are employed."""
        return self.find("people", [(person_id,)]) | self._of_person("memberships", person_id, _holds_day)

    def of_presence(self, person_id: str) -> Records:
        """Return what can have changed whether someone is there."""

        def is_in_session(row: Any, state: Snapshot, on: date) -> bool:
            session = state.sessions.get(row.session)
            return session is not None and _holds_day(session, state, on)

        sessions = {row.session for state, _ in self._sides for row in state.get_bookings(person_id) if row.session}
        return (
            self._of_person("absences", person_id, _holds_day)
            | self._of_person("bookings", person_id, is_in_session)
            | self.find("sessions", [(i,) for i in sessions])
        )

    def of_need(self, team_id: str, need: NeedKey, before: TeamDay, after: TeamDay) -> Records:
        """Return what can have changed how a need of a team stands."""
        competency_id = need[0]
        found = self.find("cover_needs", [(team_id, *need)]) | self.of_competency(competency_id)
        found |= self._of_shifts(team_id)
        for person in _list_moved(before, after, need):
            found |= self.of_level(person, competency_id) | self.of_belonging(person) | self.of_presence(person)
            found |= self._of_appointment(person, competency_id)
        return found

    def of_places(self, team_id: str, before: TeamDay, after: TeamDay) -> Records:
        """Return what can have changed how the places of a team can be filled."""
        places = {place.id: place for state, _ in self._sides for place in state.get_places(team_id)}
        found = self.find("places", [(i,) for i in places]) | self._of_shifts(team_id)
        for place in places.values():
            asked = self._list_asked(place.role)
            found |= self.find("requirements", [(place.role, competency) for competency in asked])
            for competency in asked:
                found |= self.of_competency(competency)
            for person in before.able.get(place.id, frozenset()) ^ after.able.get(place.id, frozenset()):
                found |= self.of_belonging(person) | self.of_presence(person)
                for competency in asked:
                    found |= self.of_level(person, competency) | self._of_appointment(person, competency)
        return found

    def of_requirement(self, person_id: str, roles: Iterable[str], competency_id: str) -> Records:
        """Return what can have changed what of a person's role a competency asks, and what is held of it."""
        asked = self.find("requirements", [(role, competency_id) for role in roles])
        asked |= self.find("roles", [(role,) for role in roles])
        return asked | self.of_level(person_id, competency_id)

    def _list_asked(self, role_id: str) -> list[str]:
        return sorted({row.competency for state, _ in self._sides for row in state.get_requirements(role_id)})

    def _of_shifts(self, team_id: str) -> Records:
        return self.find("shifts", [(s.id,) for state, _ in self._sides for s in state.get_shifts(team_id)])

    def _of_appointment(self, person_id: str, competency_id: str) -> Records:
        def is_of_it(row: Any, state: Snapshot, on: date) -> bool:
            return row.competency == competency_id and _holds_day(row, state, on)

        return self._of_person("appointments", person_id, is_of_it)

    def _of_person(self, table: str, person_id: str, matters: Callable[[Any, Snapshot, date], bool]) -> Records:
        """Return the records of a person that matter in the state and on the day in which they stand."""
        return frozenset(
            (table, key)
            for key, pair in self._by_person.get((table, person_id), ())
            if any(row is not None and matters(row, *side) for row, side in zip(pair, self._sides, strict=True))
        )

    def _rests_on(self, competency_id: str) -> frozenset[str]:
        """Return a competency with all that its level rests on in either state, and whose place these took."""
        found = {i for state, _ in self._sides for i in get_linked(state).get(competency_id, (competency_id,))}
        stack = list(found)
        while stack:
            new = stack.pop()
            old = {row.old for state, _ in self._sides for row in state.get_replaced(("competencies", new))} - found
            found |= old
            stack += old
        return frozenset(found)


def _holds_day(row: Any, state: Snapshot, on: date) -> bool:
    return bool(row.from_date <= on and (row.to_date is None or on <= row.to_date))


def _list_moved(before: TeamDay, after: TeamDay, need: NeedKey) -> set[str]:
    """Return who counts for a need, somewhere and somehow, in one of the two and not in the other."""
    return {person for person, *_ in set(_iterate_counted(before, need)) ^ set(_iterate_counted(after, need))}


def _iterate_counted(day: TeamDay, need: NeedKey) -> Iterator[tuple[str, str, str]]:
    row = day.needs.get(need)
    for part in (row.shifts or (row,)) if row is not None else ():
        for what in ("qualified", "present", "not_appointed"):
            for person in getattr(part, what):
                yield person, part.shift or "", what
