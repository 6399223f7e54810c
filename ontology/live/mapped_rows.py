"""A row whose levels are read on another scale: what asks for less than the first rank there asks nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from ontology.checks.rescaling import AT_LEAST_FIRST
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.snapshot.level_maps import LevelReading

__all__ = ["read_row"]

#: Column that must say something for the row to be there at all, by table.
_ASKED: Final = {
    "requirements": "level",
    "outcomes": "level",
    "entry_conditions": "level",
    "cover_needs": "level",
    "equivalences": "as_level",
}


def read_row(name: str, record: Any, field: str, levels: LevelReading) -> Any:
    """Return a row with those of its levels read by a map that are of the competency in a field; None where it goes.

    A requirement, outcome, entry condition or need at a level that is 0 on the other scale asks or teaches nothing
    there: it goes. An obligation, appointment or item of orientation stays, at the first rank.
    """
    columns = [column for column in LEVEL_COLUMNS.get(name, ()) if get_measured(column) == field]
    read = {}
    for column in columns:
        level = getattr(record, column)
        if level is not None:
            read[column] = levels.get(level, level)
    asked = _ASKED.get(name, "")
    if asked in read and not read[asked]:
        return None
    if name in AT_LEAST_FIRST:
        read = {column: max(1, level) for column, level in read.items()}
    return replace(record, **read) if read else record
