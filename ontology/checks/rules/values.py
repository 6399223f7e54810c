"""Rules that follow from the description of the tables alone: references that exist, values within limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.columns import ID_PATTERN, LONGEST_ID, Column
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def _get_known(snapshot: Snapshot, table_name: str) -> Mapping[Any, Any]:
    known: Mapping[Any, Any] = snapshot.scales if table_name == "scales" else getattr(snapshot, table_name)
    return known


@cache
def _get_references(table_name: str) -> tuple[Column, ...]:
    columns = TABLES[table_name].columns if table_name != "scales" else ()
    return tuple(column for column in columns if column.refers_to)


@cache
def _get_limited(table_name: str) -> tuple[Column, ...]:
    table = TABLES[table_name]
    return tuple(
        c
        for c in table.columns
        if c.kind in ("integer", "number", "choice", "id") or (c.kind == "text" and c.attribute in table.key)
    )


def _make_reference_check(table_name: str) -> Rule:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        for column in _get_references(table_name):
            value = getattr(record, column.attribute)
            known = _get_known(snapshot, column.refers_to)
            for name in value if isinstance(value, tuple) else (value,):
                if name and name not in known and not snapshot.retired.has(column.refers_to, name):
                    reason = (
                        f"{describe(table_name, record)} names {name!r}, "
                        f"but {column.refers_to} has no row with this {_id_word(column.refers_to)}"
                    )
                    yield Problem(column.name, name, reason)
            if value == "" and column.is_required:
                yield Problem(column.name, "", f"{describe(table_name, record)} must name one of {column.refers_to}")

    return Rule("references exist", "error", table_name, check)


def _id_word(table_name: str) -> str:
    return "scale" if table_name == "scales" else "id"


def _make_limit_check(table_name: str) -> Rule:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        for column in _get_limited(table_name):
            value = getattr(record, column.attribute)
            right = _get_fault(column, value)
            if right:
                yield Problem(column.name, str(value), f"{describe(table_name, record)}: {column.name} must be {right}")

    return Rule("values within limits", "error", table_name, check)


def _get_fault(column: Column, value: Any) -> str:
    """Return what the value must be where it is not, else the empty string."""
    if column.kind in ("id", "text"):
        if len(value) > LONGEST_ID:
            return f"at most {LONGEST_ID} characters long: it is part of an address"
        return (
            ""
            if column.kind == "text" or ID_PATTERN.fullmatch(value)
            else "letters, digits, point, underscore or hyphen"
        )
    if column.kind == "choice":
        is_default = not column.is_required and not callable(column.default) and value == column.default
        return "" if value in column.choices or is_default else f"one of {', '.join(column.choices)}"
    if value is None:
        return "" if not column.is_required else "given"
    if isinstance(value, float) and not math.isfinite(value):
        return "a finite number"
    if column.minimum is not None and value < column.minimum:
        return f"at least {column.minimum:g}"
    if column.maximum is not None and value > column.maximum:
        return f"at most {column.maximum:g}"
    return ""


RULES: Final = (
    *(_make_reference_check(name) for name in TABLES if name != "scales"),
    *(_make_limit_check(name) for name in TABLES),
)
