"""Where a finding about a record came from, and which findings only follow from another. Imports report, tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from loaders.report import Loaded
from ontology.errors import Finding
from ontology.tables import TABLES


def address(finding: Finding, loaded: Loaded) -> Finding:
    """Return the finding with the file and row its record came from, where that is known."""
    origin = _find_origin(finding, loaded.origins)
    return finding if origin is None else replace(finding, source=origin[0], row=origin[1])


def _find_origin(finding: Finding, origins: Mapping[Any, tuple[str, int]]) -> tuple[str, int] | None:
    key = find_key(finding)
    return origins.get(key) if key is not None else None


def find_key(finding: Finding) -> tuple[str, tuple[Any, ...]] | None:
    """Return (table, key) of the record a finding is about, None where no single one is meant."""
    if not finding.about:
        return None
    name, *parts = finding.about
    table = TABLES[name]
    values: list[Any] = []
    for field, part in zip(table.key, parts, strict=True):
        column = next(column for column in table.columns if column.attribute == field)
        values.append(_parse_key_part(column.kind, part))
    return name, tuple(values)


def _parse_key_part(kind: str, text: str) -> Any:
    if kind == "integer":
        return int(text)
    return date.fromisoformat(text) if kind == "date" else text


def is_consequence(finding: Finding, loaded: Loaded) -> bool:
    """Whether an unknown id is unknown only because its own row was faulty: one fault, one error."""
    if not finding.about or not finding.column:
        return False
    table = TABLES[finding.about[0]]
    column = next((column for column in table.columns if column.name == finding.column), None)
    if column is None or not column.refers_to:
        return False
    if column.refers_to == "scales":
        return any(name == "scales" and key[0] == finding.value for name, key in loaded.faulty)
    return (column.refers_to, (finding.value,)) in loaded.faulty


def is_about_missing_rows(finding: Finding, loaded: Loaded) -> bool:
    """Whether a remark that something has none of its rows comes only of the faulty ones among them."""
    if finding.severity != "remark" or finding.about[:1] not in (("roles",), ("courses",)) or finding.column != "id":
        return False
    rows = "requirements" if finding.about[0] == "roles" else "outcomes"
    return any(name == rows and key[0] == finding.about[1] for name, key in loaded.faulty)
