"""What is set aside of a state: retired records and the rows that hang on them, readable and used by no answer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ontology.model.columns import Key
from ontology.model.records import Competency, Course, Role
from ontology.model.retirable import HANGING, RETIRABLE
from ontology.model.tables import TABLES

__all__ = ["Edited", "SetAside", "list_retired_ids", "move_rows", "split_rows"]

Rows = Mapping[Key, Any]
#: Table -> ids that are retired.
RetiredIds = Mapping[str, frozenset[str]]
#: Table -> key -> the record after a change, None where it goes.
Edited = dict[str, dict[Key, Any]]


@dataclass(frozen=True, slots=True)
class SetAside:
    """The rows that are set aside, each table in the order of keys; tables without any are not in `tables`."""

    tables: Mapping[str, Rows] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.tables)

    def get_table(self, name: str) -> Rows:
        """Return the rows of a table that are set aside."""
        return self.tables.get(name, {})

    def has(self, table: str, record_id: str) -> bool:
        """Whether a record is retired."""
        return (record_id,) in self.tables.get(table, ())

    @property
    def competencies(self) -> dict[str, Competency]:
        """The retired competencies by id."""
        return {key[0]: record for key, record in self.get_table("competencies").items()}

    @property
    def roles(self) -> dict[str, Role]:
        """The retired roles by id."""
        return {key[0]: record for key, record in self.get_table("roles").items()}

    @property
    def courses(self) -> dict[str, Course]:
        """The retired courses by id."""
        return {key[0]: record for key, record in self.get_table("courses").items()}


def list_retired_ids(tables: Mapping[str, Rows]) -> dict[str, frozenset[str]]:
    """Return table -> ids of what is retired, of the tables given. O(records of these)."""
    return {
        name: frozenset(key[0] for key, record in tables[name].items() if record.retired_on is not None)
        for name in RETIRABLE
        if name in tables
    }


def split_rows(name: str, rows: Rows, ids: RetiredIds) -> tuple[dict[Key, Any], dict[Key, Any]]:
    """Return the rows of a table that answers use, and those that are set aside."""
    used: dict[Key, Any] = {}
    aside: dict[Key, Any] = {}
    for key, record in rows.items():
        (aside if is_set_aside(name, record, ids) else used)[key] = record
    return used, aside


def is_set_aside(name: str, record: Any, ids: RetiredIds) -> bool:
    """Whether a record is retired, or hangs on one that is."""
    if name in HANGING:
        column, table = HANGING[name]
        return getattr(record, column) in ids.get(table, ())
    return name in RETIRABLE and record.id in ids.get(name, ())


def move_rows(
    used: Mapping[str, Rows], aside: SetAside, put: Iterable[tuple[str, Any]], remove: Iterable[tuple[str, Key]]
) -> tuple[Edited, dict[str, frozenset[str]]]:
    """Return the records that a change touches with those that hang on what it retires or brings back; and ids.

    Parameters
    ----------
    used, aside : the rows before it
    put, remove : what changes, with the key of each record

    Returns
    -------
    edited : table -> key -> the record after it, None where it goes
    ids : table -> what is retired after it

    Notes
    -----
    O(records of the change), and O(rows that can hang) where something is retired or comes back.
    """
    edited: Edited = {}
    for name, key in remove:
        edited.setdefault(name, {})[key] = None
    for name, record in put:
        edited.setdefault(name, {})[TABLES[name].get_key(record)] = record
    before = {name: frozenset(key[0] for key in aside.get_table(name)) for name in RETIRABLE}
    ids: dict[str, frozenset[str]] = {}
    for name in RETIRABLE:
        touched = edited.get(name, {})
        now = {key[0] for key, record in touched.items() if record is not None and record.retired_on is not None}
        ids[name] = (before[name] - {key[0] for key in touched}) | now
    for name, (column, table) in HANGING.items():
        turned = before[table] ^ ids[table]
        for rows in (used[name], aside.get_table(name)) if turned else ():
            for key, record in rows.items():
                if getattr(record, column) in turned:
                    edited.setdefault(name, {}).setdefault(key, record)
    return edited, ids
