"""Where a finding about a record came from, and which findings only follow from another. Imports report, tables."""

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


def is_folded(finding: Finding, loaded: Loaded) -> bool:
    """Whether a finding only follows from another that is told already: one fault, one finding."""
    return _is_about_lost_id(finding, loaded) or _is_about_missing_rows(finding, loaded)


def _is_about_lost_id(finding: Finding, loaded: Loaded) -> bool:
    """Whether an unknown id is unknown only because its row, or its whole table, was faulty."""
    refers_to = _get_referred(finding)
    if not refers_to or not finding.value:
        return False
    if refers_to in loaded.unread:
        return True
    if refers_to == "scales":
        return any(name == "scales" and key[:1] == (finding.value,) for name, key in loaded.faulty)
    return (refers_to, (finding.value,)) in loaded.faulty


def _get_referred(finding: Finding) -> str:
    """Return the table that the value of a finding is an id of, or the empty string."""
    if not finding.about:
        return ""
    if finding.about[0] == "cover_needs" and finding.column == "applies":
        return "shifts"
    columns = TABLES[finding.about[0]].columns
    return next((column.refers_to for column in columns if column.name == finding.column), "")


def _is_about_missing_rows(finding: Finding, loaded: Loaded) -> bool:
    """Whether a remark that something has none of its rows comes only of the faulty ones among them."""
    if finding.severity != "remark" or finding.about[:1] not in (("roles",), ("courses",)) or finding.column != "id":
        return False
    rows = "requirements" if finding.about[0] == "roles" else "outcomes"
    return rows in loaded.unread or any(name == rows and key[0] == finding.about[1] for name, key in loaded.faulty)
