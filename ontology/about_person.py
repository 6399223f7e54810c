"""Everything that one state says of a person: the records about them, and those that only name them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from ontology.model.references import PEOPLE_AS_TEXT
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AboutPerson", "Named", "collect_about"]

_DAYS: Final = ("date", "from_date", "agreed_on")


@dataclass(frozen=True, slots=True)
class Named:
    """A record about something else, or someone else, that names the person in one of its columns."""

    table: str
    column: str
    record: Any

    @property
    def day(self) -> date | None:
        """The day it is of."""
        return next((getattr(self.record, name) for name in _DAYS if hasattr(self.record, name)), None)


@dataclass(frozen=True, slots=True)
class AboutPerson:
    """Everything a Snapshot says of a person: the records about them by table, and those that only name them."""

    own: Mapping[str, tuple[Any, ...]]
    named: tuple[Named, ...]


def collect_about(snapshot: Snapshot, person_id: str) -> AboutPerson:
    """Return everything kept about a person. O(records that can name one)."""
    own: dict[str, tuple[Any, ...]] = {}
    plans = {plan.id for plan in snapshot.get_agreed_plans(person_id)}
    for name in TABLES:
        records = snapshot.get_all(name).values() if name in PERSONAL_TABLES else ()
        found = tuple(record for record in records if _is_about(name, record, person_id, plans))
        if found:
            own[name] = found
    known = {id(record) for records in own.values() for record in records}
    named = tuple(
        Named(name, column.name, record)
        for name, table in TABLES.items()
        for column in table.columns
        if column.refers_to == "people" or column.name in PEOPLE_AS_TEXT
        for record in snapshot.get_all(name).values()
        if id(record) not in known and _is_named(getattr(record, column.attribute), person_id)
    )
    return AboutPerson(own, named)


def _is_about(table: str, record: Any, person_id: str, plans: set[str]) -> bool:
    if table == "people":
        return bool(record.id == person_id)
    if table == "agreed_courses":
        return record.plan in plans
    return bool(record.person == person_id)


def _is_named(value: Any, person_id: str) -> bool:
    return person_id in value if isinstance(value, tuple) else bool(value == person_id)
