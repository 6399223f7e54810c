"""The columns of a record as cells: levels with their words, ids as links by name, None for nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from api.desk.names import Names
from api.desk.plain_cells import line_up
from api.desk.record_words import WHERE, make_reference_namer
from api.desk.sheet import Cell, Quantity, Ref, Refs
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.model.columns import Column, Table
from ontology.model.references import NAMING_COLUMNS, PEOPLE_AS_TEXT, get_named_table
from ontology.snapshot.snapshot import Snapshot

__all__ = ["make_cells"]

_NOTHING: Final = (None, "", ())


def make_cells(snapshot: Snapshot, table: Table, column: Column) -> Callable[[Any], Cell]:
    """Return what makes the cell of a column of a record, for many records."""
    make = _make(snapshot, table, column)
    attribute = column.attribute

    def make_cell(record: Any) -> Cell:
        value = getattr(record, attribute)
        return None if value in _NOTHING else make(record, value)

    return make_cell


def _make(snapshot: Snapshot, table: Table, column: Column) -> Callable[[Any, Any], Cell]:
    """Return what makes a cell of a record and its value in the column, which is something."""
    say, other = make_reference_namer(snapshot), column.refers_to
    if column.kind == "refs":
        return lambda _, value: Refs(tuple(Ref(other, one, say(other, one)) for one in value))
    if other:
        return lambda _, value: Ref(other, value, say(other, value))
    if column.name == NAMING_COLUMNS.get(table.name, ("",))[0]:
        return lambda record, value: _refer(snapshot, get_named_table(table.name, record), value, say)
    if column.name in PEOPLE_AS_TEXT:
        return lambda _, value: _refer(snapshot, "people", value, say)
    if column.kind in ("texts", "iris"):
        return lambda _, value: line_up(value)
    if column.name in LEVEL_COLUMNS.get(table.name, ()):
        names, measured = Names(snapshot), get_measured(column.name)
        return lambda record, value: names.level(getattr(record, measured), value)
    if column.kind in ("integer", "number"):
        return lambda _, value: Quantity(value, decimals=4)
    return lambda _, value: value


def _refer(snapshot: Snapshot, table_name: str, value: str, say: Callable[[str, str], str]) -> Cell:
    """Return a text as a link where it is the id of a record of the table that it speaks of."""
    known: Mapping[str, Any] = getattr(snapshot, table_name) if table_name else {}
    if table_name == "people" and value in (snapshot.also_named or ()):
        return say(table_name, value)  # told by name alone, to whom they assessed
    return Ref(table_name, value, say(table_name, value)) if value in known else WHERE.get(value, value)
