"""Where a finding about a record came from: its file and row."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from loaders.report import Loaded
from ontology.errors import Finding
from ontology.model.tables import TABLES


def address(finding: Finding, loaded: Loaded) -> Finding:
    """Return the finding with the file and row its record came from, where that is known."""
    key = find_key(finding)
    origin = loaded.origins.get(*key) if key is not None else None
    return finding if origin is None else replace(finding, source=origin[0], row=origin[1])


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
