"""Today's people under the framework of another state: tables of two Snapshots in one, without what does not fit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.retirable import HANGING
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.set_aside import list_retired_ids
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Joined", "join_states"]

_TEXTS = TRANSLATIONS.name
_FRAMEWORK_GRAPHS = (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)


@dataclass(frozen=True, slots=True)
class Joined:
    """The Snapshot, and of each table how many rows were left out, in the order of tables."""

    snapshot: Snapshot
    left_out: tuple[tuple[str, int], ...]


def join_states(framework: Snapshot, people: Snapshot) -> Joined:
    """Return the framework and offers of one state with all other tables of another; the revision is the first one's.

    Rows that name something that is in neither part are left out, then those that name these, until all fit; so are
    rows with a level that its scale does not have, and rows of what is retired there. O(n) for n records, once for each
    step of such a chain.
    """
    tables: dict[str, dict[Key, Any]] = {}
    for name, table in TABLES.items():
        source = framework if table.graph in _FRAMEWORK_GRAPHS else people
        tables[name] = dict(source.get_all(name))
    tables[_TEXTS] = {
        key: row
        for source in (framework, people)
        for key, row in source.get_all(_TEXTS).items()
        if (TABLES[row.table].graph in _FRAMEWORK_GRAPHS) == (source is framework)
    }
    left_out: Counter[str] = Counter()
    checked = _list_checked()
    while loose := list(_find_loose(tables, checked)):
        for name, key in loose:
            del tables[name][key]
            left_out[name] += 1
    changed = {name: rows for name, rows in tables.items() if name in checked or name == _TEXTS}
    return Joined(framework.with_tables(changed), tuple((name, left_out[name]) for name in TABLES if left_out[name]))


@cache
def _list_checked() -> tuple[str, ...]:
    """Return the tables whose rows may not fit: those of people, and of the framework what leads to one of them.

    The rest of the framework comes from one state and names nothing else.
    """
    found = {name for name, table in TABLES.items() if table.graph not in _FRAMEWORK_GRAPHS}
    while more := {name for name in TABLES if any(get_reference_fields(name, to) for to in found)} - found:
        found |= more
    return tuple(name for name in TABLES if name in found)


def _find_loose(tables: Mapping[str, Mapping[Key, Any]], checked: Sequence[str]) -> Iterator[tuple[str, Key]]:
    """Yield (table, key) of rows that name what is not there, or a level above its scale."""
    ids = {name: {key[0] for key in rows} for name, rows in tables.items()}
    in_use = ids | {name: ids[name] - retired for name, retired in list_retired_ids(tables).items()}
    tops = Counter(key[0] for key in tables["scales"])
    tops_of_competencies = {key[0]: tops[record.scale] for key, record in tables["competencies"].items()}
    for name in checked:
        fields = [(to, field) for to in TABLES for field in get_reference_fields(name, to)]
        levels = [(column, get_measured(column)) for column in LEVEL_COLUMNS.get(name, ())]
        for key, record in tables[name].items():
            fits = all(
                _is_known(name, record, to, field, (ids if HANGING.get(name) == (field, to) else in_use)[to])
                for to, field in fields
            ) and all(
                (getattr(record, column) or 0) <= tops_of_competencies.get(getattr(record, measured), 0)
                for column, measured in levels
                if getattr(record, measured)
            )
            if not fits:
                yield name, key


def _is_known(table_name: str, record: Any, to_table: str, field: str, ids: set[Any]) -> bool:
    value = getattr(record, field)
    if not value or not is_referring(table_name, record, to_table, field):
        return True
    return ids.issuperset(value) if isinstance(value, tuple) else value in ids
