"""What a rule is: a name, a severity, and a small function from one record to the problems with it.

The rule's function sees the whole Snapshot but looks only at what hangs on its record, so a single change is checked in
time proportional to what it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeAlias

from ontology.errors import RULE_SOURCE, Severity
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem of one record: the column, its value, and a sentence that says what would be right."""

    column: str
    value: str
    reason: str


RecordCheck: TypeAlias = Callable[[Snapshot, Any], Iterable[Problem]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule on the records of one table."""

    name: str
    severity: Severity
    table: str
    check: RecordCheck


def name_rule(name: str) -> str:
    """Return the source of a rule's findings, as people read it."""
    return f'{RULE_SOURCE}"{name}"'


def describe(table_name: str, record: Any) -> str:
    """Return the record's key as people read it: ``requirement nurse~triage``."""
    table = TABLES[table_name]
    return f"{table.word} {'~'.join(str(part) for part in table.get_key(record))}"
