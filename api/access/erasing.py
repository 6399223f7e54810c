"""Erasing a person everywhere: what would go, and doing it. The store comes first, in one step; the database follows.

A process that is killed between the two leaves a store that tells by a key what is left to do, and `catch_up` does it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from sqlalchemy import select

from api.access.actor import Role
from api.access.database import Database
from api.access.erasure import Copy, Erasure, KeptAbout
from api.access.tables import ACCOUNTS, GRANTS
from ontology.about_person import collect_about
from ontology.erasure import erase_people
from ontology.errors import ConflictError, NotFoundError
from ontology.live.live_graph import LiveGraph
from ontology.model.references import PEOPLE_AS_TEXT
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.store.erasures import read_erasures
from ontology.traces import find_traces

__all__ = ["ErasurePlan", "catch_up", "erase", "plan_erasure"]


@dataclass(frozen=True, slots=True)
class ErasurePlan:
    """What goes when a person is erased.

    Attributes
    ----------
    names : every name they had
    records : (table, how many) that are about them now
    named : (table, how many) that name them now: "erased" stands there afterwards
    commits : changes of the past that they have a part in
    about : what the database keeps
    spoken : (table, id) of other records with a text that holds their name; these stay as they are
    copies : copies of the store that were written before
    has_left : whether a last day was said of them, or they are there no more
    """

    person: str
    names: tuple[str, ...]
    records: tuple[tuple[str, int], ...]
    named: tuple[tuple[str, int], ...]
    commits: int
    about: KeptAbout
    spoken: tuple[tuple[str, str], ...]
    copies: tuple[Copy, ...]
    has_left: bool


def plan_erasure(graph: LiveGraph, database: Database, person: str) -> ErasurePlan:
    """Return what would go with a person.

    Raises
    ------
    NotFoundError
        Neither the store nor its past knows them.
    ConflictError
        Theirs is the last account that administers the others.
    """
    traces = find_traces(graph.store, person)
    if traces is None:
        raise NotFoundError(f"There is no person {person!r}, and never was.")
    _require_another_administrator(database, person)
    snapshot = graph.get_snapshot()
    about, erasure = collect_about(snapshot, person), Erasure(database)
    named = Counter(one.table for one in about.named)
    return ErasurePlan(
        person,
        tuple(sorted(traces.names)),
        tuple((name, len(records)) for name, records in about.own.items()),
        tuple((name, named[name]) for name in TABLES if named[name]),
        len(traces.revisions),
        erasure.count(person),
        tuple(_find_spoken(snapshot, traces.names, {id(one) for records in about.own.values() for one in records})),
        erasure.list_copies(),
        person not in snapshot.people or snapshot.people[person].end_date is not None,
    )


def erase(graph: LiveGraph, database: Database, people: Collection[str], who: str, *, by: int | None = None) -> int:
    """Erase people everywhere and return the new revision; errors as `plan_erasure`, and those of `erase_people`."""
    catch_up(graph, database)
    for person in people:
        _require_another_administrator(database, person)
    erasure = Erasure(database)
    found = [(person, find_traces(graph.store, person)) for person in people]
    erasure.prepare({person: one.names if one else () for person, one in found})
    traces = erase_people(graph, people, who=who, make_key=erasure.make_key)
    erasure.erase(people, {name for one in traces for name in one.names}, by=by)
    return graph.get_snapshot().revision


def catch_up(graph: LiveGraph, database: Database) -> int:
    """Do what a killed process left of an erasure; return of how many people."""
    keys = read_erasures(graph.store).keys
    return Erasure(database).catch_up(keys) if keys else 0


def _require_another_administrator(database: Database, person: str) -> None:
    who = select(ACCOUNTS.c.person).join(GRANTS, GRANTS.c.account == ACCOUNTS.c.number)
    rows = database.ask(who.where(GRANTS.c.role == Role.ADMINISTRATOR.value, ACCOUNTS.c.ended_at.is_(None)))
    if rows and all(row.person == person for row in rows):
        raise ConflictError("Theirs is the last account that administers the others: make another one first.")


def _find_spoken(snapshot: Snapshot, names: Collection[str], own: set[int]) -> Iterator[tuple[str, str]]:
    spoken = re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in sorted(names)) or "(?!)")
    for name, table in TABLES.items():
        texts = [column.attribute for column in table.columns if column.kind in ("text", "texts")]
        for key, record in snapshot.get_all(name).items():
            values = (getattr(record, attribute) for attribute in texts)
            told = " ".join(value if isinstance(value, str) else " ".join(value or ()) for value in values if value)
            if id(record) not in own and spoken.search(told) and not _is_only_named(record, names):
                yield name, "~".join(map(str, key))


def _is_only_named(record: object, names: Collection[str]) -> bool:
    """Whether a name stands by itself where people are named: "erased" takes its place."""
    return any(getattr(record, name, None) in names for name in PEOPLE_AS_TEXT)
