"""What a change of a record is: the columns whose values differ, each with its direction, and whether it was said.

A value that only followed another column is told too, and marked: rows are differences of records, not of quads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, Literal

from ontology.model.columns import MANY, Column, Key, RecordFields, Table

__all__ = ["ColumnChange", "Row", "compare_columns", "is_written"]

Change = Literal["added", "removed", "changed"]
Direction = Literal["raised", "lowered"]
_ORDERED: Final = ("integer", "number", "date")


@dataclass(frozen=True, slots=True)
class ColumnChange:
    """One column of a record that changed.

    Attributes
    ----------
    column : its name; of a text in a language the name, @ and the language
    before, after : the values; of columns that hold several values what went and what is new
    is_several : whether it holds several values
    direction : of numbers and dates where both are there
    stated : whether it was said; otherwise it only followed another column
    """

    column: str
    before: Any
    after: Any
    is_several: bool
    direction: Direction | None
    stated: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One record that came, went or changed, with the records before and after (None where there was or is none)."""

    table: str
    key: Key
    change: Change
    columns: tuple[ColumnChange, ...]
    before: Any
    after: Any

    @property
    def id(self) -> str:
        """The parts of the key, joined by ~."""
        return "~".join(map(str, self.key))


def compare_columns(table: Table, before: Any, after: Any, is_stated: Callable[[Column], bool]) -> list[ColumnChange]:
    """Return the columns whose values differ, in the table's order; all of them where there was no record (None)."""
    changes = []
    for column in table.columns:
        old = getattr(before, column.attribute) if before is not None else None
        new = getattr(after, column.attribute)
        if column.kind == "id" or (before is not None and old == new):
            continue
        stated = is_stated(column)
        if column.kind in MANY:
            gone, come = set(old or ()) - set(new), set(new) - set(old or ())
            changes.append(ColumnChange(column.name, tuple(sorted(gone)), tuple(sorted(come)), True, None, stated))
        else:
            changes.append(ColumnChange(column.name, old, new, False, _find_direction(column, old, new), stated))
    return changes


def is_written(column: Column, record: Any) -> bool:
    """Whether a record says a column: it has a value there, and not the one that is taken where nothing is said."""
    value = getattr(record, column.attribute)
    if value is None or column.is_required:
        return value is not None
    default = column.default
    return bool(value != (default(RecordFields(record)) if callable(default) else default))


def _find_direction(column: Column, old: Any, new: Any) -> Direction | None:
    if column.kind not in _ORDERED or old is None or new is None:
        return None
    return "raised" if new > old else "lowered"
