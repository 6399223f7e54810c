"""What came, went and changed between two states, read through the pairs of what is the same."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from ontology.analysis.compare.in_languages import compare_texts
from ontology.analysis.compare.pairs import Pairs, make_translator
from ontology.model.changes import ColumnChange, Row, compare_columns, is_written
from ontology.model.columns import Column, Key, Table
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ComparedRow", "TableCounts", "compare_tables"]


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """A row with the id its record had in the first state, "" where that is the same.

    `is_id_reused`: the id was given to something else; `is_retired`: what went is retired in the second state.
    """

    row: Row
    from_id: str
    is_id_reused: bool
    is_retired: bool = False


@dataclass(frozen=True, slots=True)
class TableCounts:
    """How a table differs; `renumbered` are pairs of different keys, `columns` how many rows changed in each."""

    table: str
    before: int
    after: int
    added: int
    removed: int
    changed: int
    renumbered: int
    columns: dict[str, int]


def compare_tables(
    before: Snapshot, after: Snapshot, pairs: Pairs, tables: Collection[str]
) -> tuple[list[TableCounts], list[ComparedRow]]:
    """Return how some tables differ, and their rows, in the order of tables and keys.

    Notes
    -----
    O(n + r log r) for n records and r rows.
    """
    counts, rows = [], []
    for name, table in TABLES.items():
        if name in tables:
            own, renumbered = _compare_table(before, after, pairs, table)
            counts.append(_count(table, before, after, own, renumbered))
            rows += own
    return counts, rows


def _count(table: Table, before: Snapshot, after: Snapshot, rows: list[ComparedRow], renumbered: int) -> TableCounts:
    kinds = Counter(row.row.change for row in rows)
    columns = Counter(change.column for row in rows if row.row.change == "changed" for change in row.row.columns)
    names = [column.name for column in table.columns if column.name in columns]
    names += sorted(name for name in columns if "@" in name)  # what is said in other languages
    n_before, n_after = (len(state.get_table(table.name)) for state in (before, after))
    numbers = (kinds["added"], kinds["removed"], kinds["changed"], renumbered)
    return TableCounts(table.name, n_before, n_after, *numbers, {name: columns[name] for name in names})


def _compare_table(before: Snapshot, after: Snapshot, pairs: Pairs, table: Table) -> tuple[list[ComparedRow], int]:
    """Return the rows of a table by key, and how many records have another key."""
    here, there = before.get_table(table.name), after.get_table(table.name)
    translate = make_translator(pairs, after, table.name)
    rows: list[ComparedRow] = []
    paired: set[Key] = set()
    renumbered = 0
    for key, record in here.items():
        changed = translate(record) if translate is not None else {}
        meant = dataclasses.replace(record, **changed) if changed else record
        new_key = table.get_key(meant) if changed else key
        other = there.get(new_key)
        if other is None:
            row = Row(table.name, key, "removed", (), record, None)
            is_retired = bool(table.id_field) and after.retired.has(table.name, key[0])
            rows.append(ComparedRow(row, "", _is_reused(pairs, table, key), is_retired))
            continue
        paired.add(new_key)
        renumbered += new_key != key
        texts = compare_texts(before, after, table.name, key, new_key)
        if texts or (meant is not other and meant != other):
            columns = (*_compare(table, meant, other), *texts)
            row = Row(table.name, new_key, "changed", columns, meant, other)
            rows.append(ComparedRow(row, "" if new_key == key else "~".join(map(str, key)), False))
    for key, record in there.items():
        if key not in paired:
            columns = (*_state(table, record), *compare_texts(None, after, table.name, key, key))
            row = Row(table.name, key, "added", columns, None, record)
            rows.append(ComparedRow(row, "", _is_reused(pairs, table, key)))
    # of one id that was given to something else, what went before what came
    rows.sort(key=lambda row: (row.row.key, row.row.change == "added"))
    return rows, renumbered


def _is_reused(pairs: Pairs, table: Table, key: Key) -> bool:
    return bool(table.id_field) and (table.name, key[0]) in pairs.reused


def _compare(table: Table, before: Any, after: Any) -> tuple[ColumnChange, ...]:
    def is_stated(column: Column) -> bool:
        """Whether what is written of the column differs: as in a patch that leads from one to the other."""
        return is_written(column, before) or is_written(column, after)

    return tuple(compare_columns(table, before, after, is_stated))


def _state(table: Table, record: Any) -> tuple[ColumnChange, ...]:
    changes = compare_columns(table, None, record, lambda column: is_written(column, record))
    return tuple(change for change in changes if change.stated)
