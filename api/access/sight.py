"""What an actor sees: a Snapshot in which everything they may not see is not there, and whom they may be told of.

What is read through it cannot tell that there is more. Rights are those of the present state, whichever state is asked.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final
from urllib.parse import parse_qsl, urlsplit

from api.access.actor import Actor, Lead, Role
from api.access.check import Extent, decide
from api.access.kinds import TABLE_KINDS, get_record_kind
from api.access.rights import Kind, Right, Verb
from ontology.analysis.profiles.belonging import get_people_of_team, get_person_on
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.names import keep_name_alone, list_told_names
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FindLeads", "Seen", "Sight", "find_none"]

_OF_TEAMS: Final = tuple(name for name, kind in TABLE_KINDS.items() if kind in (Kind.TEAMS, Kind.COVER_NEEDS))
_OF_PEOPLE: Final = tuple(
    name for name, kind in TABLE_KINDS.items() if kind is not Kind.FRAMEWORK and name not in _OF_TEAMS
)


#: Team -> who leads it, of a state.
FindLeads = Callable[[Snapshot], Mapping[str, tuple[Lead, ...]]]
#: Texts in other languages: a row is seen by whoever sees the record it speaks of.
_TEXTS: Final = "translations"
#: Tables of the framework that say who does it, as a text.
_OWNED: Final = ("orientation_items",)


def find_none(_: Snapshot) -> Mapping[str, tuple[Lead, ...]]:
    """Return nobody who leads anything: where there are no accounts."""
    return {}


@dataclass(frozen=True, slots=True)
class Seen:
    """A Snapshot without what may not be seen, and the ids of the people whom it may not, and may, tell of."""

    snapshot: Snapshot
    unseen: frozenset[str]
    named: frozenset[str] = frozenset()


class Sight:
    """What an actor may see and do with the records of a store.

    Parameters
    ----------
    actor : Actor
    present : Snapshot
        The latest state: it says who belongs to which team.
    today : date
    find_leads : callable
        Team -> who leads it, of a state.
    """

    def __init__(
        self,
        actor: Actor,
        present: Snapshot,
        today: dt.date,
        find_leads: FindLeads = find_none,
    ) -> None:
        self.actor = actor
        self.present = present
        self.today = today
        self._find_leads = find_leads

    @cached_property
    def leads(self) -> Mapping[str, tuple[Lead, ...]]:
        """Team -> who leads it, whether or not the actor may see these people."""
        return self._find_leads(self.present)

    def build_right(self, kind: Kind, verb: Verb = Verb.SEE, *, person: str = "", team: str = "") -> Right:
        """Return the right to something of a person, or of a team, or of neither."""
        if person:
            return Right(kind, verb, self.find_teams_of_person(person), person)
        return Right(kind, verb, frozenset({team}) if team else frozenset())

    def build_record_right(self, table: str, record: Any, verb: Verb = Verb.SEE) -> Right:
        """Return the right to a record of a table (of scales, a level)."""
        kind = get_record_kind(table, record)
        if table in _OF_TEAMS:
            return self.build_right(kind, verb, team=record.id if table == "teams" else record.team)
        if table == _TEXTS and record.table in _OF_TEAMS:
            spoken_of = self.present.get_all(record.table).get((record.id,))
            right = Right(kind, verb)
            return right if spoken_of is None else self.build_record_right(record.table, spoken_of, verb)
        if table not in _OF_PEOPLE:
            return Right(kind, verb)
        return replace(
            self.build_right(kind, verb, person=self.get_person(table, record)),
            competency=getattr(record, "competency", ""),
        )

    def decide_record(self, table: str, record: Any, verb: Verb = Verb.SEE) -> Extent | None:
        """Return how much of a record the actor sees, or whether they may change it; None for nothing."""
        return decide(self.actor, self.build_record_right(table, record, verb))

    def decide_life(self, table: str, key: Key) -> bool:
        """Whether the actor may read what became of a record, also of one that is gone."""
        if table in _OF_PEOPLE:
            person = self.get_person_of_key(table, key)
            return decide(self.actor, self.build_right(Kind.HISTORY_PEOPLE, person=person)) == "rows"
        is_of_teams = table in _OF_TEAMS or (table == _TEXTS and key[0] in _OF_TEAMS)
        return not is_of_teams or key in self.look(self.present).snapshot.get_all(table)

    def look(self, snapshot: Snapshot) -> Seen:
        """Return what the actor sees of a state.

        Notes
        -----
        O(people they may see, with their records), once for a state and all who may see the same.
        """
        if self.actor.is_owner:
            return Seen(snapshot, frozenset())
        parts = ("seen by", self.actor.key, self.present.revision, self.today)
        return snapshot.keep(parts, lambda: self._look(snapshot))

    def _look(self, snapshot: Snapshot) -> Seen:
        tables = {name: self._keep_of_teams(snapshot, name) for name in _OF_TEAMS}
        tables |= {name: self._keep_of_people(snapshot, name) for name in _OF_PEOPLE if name != "people"}
        texts = snapshot.get_table(_TEXTS)
        if any(row.table in _OF_TEAMS for row in texts.values()):
            tables[_TEXTS] = {
                key: row for key, row in texts.items() if row.table not in _OF_TEAMS or (row.id,) in tables[row.table]
            }
        tables["people"] = self._keep_people(snapshot)
        told = list_told_names(snapshot, tables)
        unseen = frozenset(snapshot.people.keys() - {key[0] for key in tables["people"]} - told.keys())
        tables |= {name: _tell_someone(snapshot.get_all(name), unseen) for name in _OWNED}
        seen = snapshot.with_tables({name: dict(sorted(rows.items())) for name, rows in tables.items()})
        seen.also_named = told
        return Seen(seen, unseen, frozenset(seen.people.keys() | told.keys()))

    def _keep_of_teams(self, snapshot: Snapshot, name: str) -> dict[Key, Any]:
        return {
            key: record for key, record in snapshot.get_all(name).items() if self.decide_record(name, record) == "rows"
        }

    def _keep_of_people(self, snapshot: Snapshot, name: str) -> dict[Key, Any]:
        by_person = snapshot.keep(("records by person", name), lambda: _group_by_person(snapshot, name))
        return {
            key: record
            for person in self._near
            for key, record in by_person.get(person, ())
            if self.decide_record(name, record) == "rows"
        }

    def _keep_people(self, snapshot: Snapshot) -> dict[Key, Any]:
        sees_all_names = Role.ADMINISTRATOR in self.actor.roles
        kept: dict[Key, Any] = {}
        for one in snapshot.people if sees_all_names else self._near & snapshot.people.keys():
            extent = self.decide_record("people", snapshot.people[one])
            if extent in ("rows", "name"):
                person = snapshot.people[one]
                kept[one,] = person if extent == "rows" else keep_name_alone(person)
        return kept

    @cached_property
    def _near(self) -> frozenset[str]:
        """The people of whom the actor may see anything but the name."""
        actor, present = self.actor, self.present
        purposes = {purpose.team for purpose in actor.purposes if not purpose.person}
        teams = actor.leads | purposes | {team for one in actor.assesses for team in one.teams}
        there = {person.id for team in teams if team in present.teams for person in get_people_of_team(present, team)}
        return frozenset({*there, *(purpose.person for purpose in actor.purposes), actor.person} - {""})

    def get_person(self, table: str, record: Any) -> str:
        """Return whom a record is about."""
        if table == "people":
            return str(record.id)
        if table == "agreed_courses":
            plan = self.present.agreed_plans.get(record.plan)
            return plan.person if plan is not None else ""
        return str(record.person)

    def get_person_of_key(self, table: str, key: Key) -> str:
        """Return whom a record of a table of people is about, by its key; "" where that is not known any more."""
        if table in ("people", "agreed_plans", "agreed_courses"):
            record = self.present.get_all(table).get(key)
            return str(key[0]) if table == "people" else self.get_person(table, record) if record is not None else ""
        return str(key[TABLES[table].key.index("person")])

    def find_teams_of_person(self, person: str) -> frozenset[str]:
        """Return the teams of a person: their own, and where they belong today."""
        record = self.present.people.get(person)
        if record is None:
            return frozenset()
        return frozenset(filter(None, (record.team, get_person_on(self.present, person, self.today).team)))

    def is_shown(self, person: str, path: str, texts: Mapping[str, str]) -> bool:
        """Whether a person shows the actor this very question, by its path and what is asked in texts."""
        return any(
            share.person == person
            and share.until >= self.today
            and urlsplit(share.address).path == path
            and dict(parse_qsl(urlsplit(share.address).query)) == texts
            for share in self.actor.shown
        )

    def may_be_shown(self, person: str) -> bool:
        """Whether a person shows the actor anything."""
        return any(share.person == person for share in self.actor.shown)

    def is_of_standing(self, person: str, role: str | None) -> bool:
        """Whether a role is the one a person holds, or one of a place of their team; so is none asked."""
        record = self.present.people.get(person)
        if record is None:
            return False
        there = get_person_on(self.present, person, self.today)
        return (
            not role
            or role in (record.role, there.role)
            or any(
                place.role == role
                for team in self.find_teams_of_person(person)
                for place in self.present.get_places(team)
            )
        )

    def find_teams_of(self, people: Iterable[str]) -> Mapping[str, int]:
        """Return of which teams people are, and how many of each; "" is no team, or nobody's any more."""
        found: dict[str, int] = defaultdict(int)
        for one in people:
            person = self.present.people.get(one)
            found[person.team if person is not None else ""] += 1
        return dict(sorted(found.items()))


def _tell_someone(rows: Mapping[Key, Any], unseen: frozenset[str]) -> dict[Key, Any]:
    """Return rows with "someone" for an owner who may not be told of."""
    return {key: replace(row, owner="someone") if row.owner in unseen else row for key, row in rows.items()}


def find_teams_below(snapshot: Snapshot, teams: Iterable[str]) -> frozenset[str]:
    """Return teams together with all that are part of them. O(teams)."""
    found: set[str] = set()
    new = [team for team in teams if team in snapshot.teams]
    while new:
        team = new.pop()
        if team not in found:
            found.add(team)
            new += [other.id for other in snapshot.teams.values() if other.part_of == team]
    return frozenset(found)


def _group_by_person(snapshot: Snapshot, name: str) -> Mapping[str, tuple[tuple[Key, Any], ...]]:
    """Return person -> their records of a table with their keys, in the order of keys. O(records)."""
    found: defaultdict[str, list[tuple[Key, Any]]] = defaultdict(list)
    for pair in _iterate_with_person(snapshot, name):
        found[pair[0]].append(pair[1])
    return {person: tuple(pairs) for person, pairs in found.items()}


def _iterate_with_person(snapshot: Snapshot, name: str) -> Iterator[tuple[str, tuple[Key, Any]]]:
    for key, record in snapshot.get_all(name).items():
        if name == "agreed_courses":
            plan = snapshot.agreed_plans.get(record.plan)
            yield plan.person if plan is not None else "", (key, record)
        else:
            yield record.person, (key, record)
