"""Every column of every record, changed by every kind of actor: taken where the table of rights lets, else refused.

The cases are made of the tables and of the columns; what is expected is worked out of the cells alone. It is tried
where every change of records passes, behind whichever page or address it came from (OWASP ASVS 5.0.0, V8.1.2, V15.3.3).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from canary_company import ACTORS, open_canaries
from matrix_cases import Subject, describe, is_allowed, list_standpoints

from api.access.actor import Actor
from api.access.building import build_actor
from api.access.kinds import TABLE_KINDS
from api.access.rights import COLUMNS, Kind, Verb, get_cell
from api.access.seen_graph import SeenGraph
from api.access.sight import Sight
from ontology.errors import FindingsError, ForbiddenError
from ontology.live.live_graph import Change
from ontology.model.tables import TABLES


class Taken(Exception):
    """The change came through."""


class TakingGraph:
    """A graph that tells when a change reaches it, and stores nothing."""

    def __init__(self, graph: Any) -> None:
        self.store = graph.store
        self.get_snapshot = graph.get_snapshot

    def apply(self, change: Change, *, require: Any, **_: Any) -> None:
        require(self.get_snapshot())
        raise Taken


def change_value(value: Any, kind: str) -> Any:
    """Return another value of the same type; a rule may forbid it, which is asked later than the rights."""
    if value is None:
        return {"date": dt.date(2027, 1, 1), "integer": 1, "number": 1.0, "flag": True}.get(kind, "zqother")
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=1)
    return (*value, "zqother") if isinstance(value, tuple) else f"{value}zq"


def is_taken(graph: SeenGraph, table: str, record: Any) -> bool:
    try:
        graph.apply(Change(put=((table, record),)), who="test", why="a test")
    except Taken:
        return True
    except (ForbiddenError, FindingsError):
        return False
    pytest.fail("it was neither taken nor refused")


def may_change(actor: str, subject: Subject, column: str) -> bool:
    """Whether the cells let an actor change a column of a record."""
    assert subject.kind is not None
    if not is_allowed(actor, subject.kind, Verb.CHANGE, subject):
        return False
    has_purpose = actor == "architect with purpose"
    columns: set[str] = set()
    for standpoint in list_standpoints(actor, subject.kind, subject):
        cell = get_cell(subject.kind, standpoint)
        if Verb.CHANGE in cell.verbs or (has_purpose and Verb.CHANGE in cell.with_purpose):
            if (subject.kind, standpoint) not in COLUMNS:
                return True
            columns |= COLUMNS[subject.kind, standpoint]
    return column in columns


def signs_for_others(who: Actor, name: str, record: Any) -> bool:
    """Whether a level would be said by somebody else than who sends it."""
    is_said = name == "assessments" and record.source in ("assessor", "manager")
    return is_said and record.assessor not in ("", who.person, who.name)


@pytest.mark.parametrize("actor", [one for one in ACTORS if one != "nobody"])
def test_a_column_is_changed_by_whom_the_table_lets(actor: str) -> None:
    canaries, today = open_canaries(), dt.datetime.now(dt.UTC).date()
    access, graph = canaries.accounts.access, TakingGraph(canaries.accounts.app.extensions["newel"].graph)
    number, present = canaries.accounts.numbers[actor], graph.get_snapshot()
    who = build_actor(access.accounts.get(number), present, today, access.purposes.list(number))
    seen = SeenGraph(graph, Sight(who, present, today))  # type: ignore[arg-type]
    wrong, n = [], 0
    for name in TABLE_KINDS:
        for record in find_records(name):
            subject = describe(present, name, (record,) if name == "scales" else record, today)
            for column in TABLES[name].columns:
                if column.attribute in TABLES[name].key or column.attribute in ("person", "team", "source", "plan"):
                    continue  # it would be another record, or another's
                value = change_value(getattr(record, column.attribute), column.kind)
                changed = replace(record, **{column.attribute: value})
                n += 1
                expected = may_change(actor, subject, column.name) and not signs_for_others(who, name, changed)
                taken = is_taken(seen, name, changed)
                if taken != expected:
                    wrong.append(f"{name} {column.name} of {subject.id}: {'taken' if taken else 'refused'}")
    assert wrong == []
    assert n > 500


def find_records(name: str) -> list[Any]:
    """Return some records of a table: the first of everyone who plays a part here, else the first."""
    rows = list(open_canaries().snapshot.get_all(name).values())
    chosen: dict[Any, Any] = {}
    for row in rows:
        chosen.setdefault((getattr(row, "team", ""), getattr(row, "person", getattr(row, "id", "")))[:2], row)
    return list(chosen.values())[:12]


def test_what_would_widen_ones_rights_is_among_the_columns() -> None:
    assert {"role", "team"} <= {column.name for column in TABLES["people"].columns}
    assert all(columns.isdisjoint({"role", "team", "id", "name"}) for columns in COLUMNS.values())
    assert {kind for kind, _ in COLUMNS} == {Kind.PERSON}
