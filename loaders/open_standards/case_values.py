"""Values of our own columns in the extensions of a CASE node: read as what their column holds, or told as a fault."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from typing import Any

from ontology.model.columns import MANY, Column, Table

__all__ = ["read_date", "read_own"]

Fault = tuple[str, str, str]


def read_own(table: Table, own: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """Return the values of a table's columns by attribute, and (column, value, reason) of what is none."""
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    known = {column.name: column for column in table.columns}
    for name, told in own.items():
        column = known.get(name)
        if column is None:
            faults.append((name, str(told)[:80], f"is no column of {table.name}"))
            continue
        try:
            values[column.attribute] = _read(column, told)
        except ValueError as error:
            faults.append((name, str(told)[:80], str(error)))
    return values, faults


def read_date(text: str) -> date | None:
    """Return a date as year-month-day, None where the text is none; a time behind it is passed over."""
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        return None


def _read(column: Column, told: Any) -> Any:
    """Return the value of a column; ValueError with what it must be."""
    if told is None and not column.is_required and column.default is None:
        return None
    if column.kind in MANY:
        if not isinstance(told, list) or not all(isinstance(one, str) for one in told):
            raise ValueError("must be a list of texts")
        return tuple(told)
    if column.kind == "flag":
        return _require(told, bool, "must be true or false")
    if column.kind == "integer":
        if isinstance(told, bool):
            raise ValueError("must be a whole number")
        return _require(told, int, "must be a whole number")
    if column.kind == "number":
        if isinstance(told, bool) or not isinstance(told, int | float) or not math.isfinite(told):
            raise ValueError("must be a number")
        return float(told)
    text = _require(told, str, "must be a text")
    if column.kind == "choice" and text not in column.choices:
        raise ValueError(f"must be one of {', '.join(column.choices)}")
    if column.kind == "date":
        day = read_date(text)
        if day is None:
            raise ValueError("must be a date as year-month-day")
        return day
    return text


def _require(told: Any, kind: type, words: str) -> Any:
    if not isinstance(told, kind):
        raise ValueError(words)
    return told
