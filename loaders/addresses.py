"""Where a finding about a record came from, and which findings only follow from another. Imports report, tables."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from loaders.report import Loaded
from ontology.errors import Finding
from ontology.model.references import NAMING_COLUMNS, get_named_table
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
    if not finding.value:
        return False
    return any(_is_lost(table, finding.value, loaded) for table in _list_referred(finding, loaded))


def _is_lost(table: str, record_id: str, loaded: Loaded) -> bool:
    if table in loaded.unread:
        return True
    if table == "scales":
        return any(name == "scales" and key[:1] == (record_id,) for name, key in loaded.faulty)
    return (table, (record_id,)) in loaded.faulty


def _list_referred(finding: Finding, loaded: Loaded) -> list[str]:
    """Return the table that the value of a finding is an id of, if it is one."""
    if not finding.about:
        return []
    name = finding.about[0]
    if name in NAMING_COLUMNS and finding.column == NAMING_COLUMNS[name][0]:
        key = find_key(finding)
        record = None if key is None else loaded.find(*key)
        return [] if record is None else [get_named_table(name, record)]
    return [column.refers_to for column in TABLES[name].columns if column.name == finding.column and column.refers_to]


def _is_about_missing_rows(finding: Finding, loaded: Loaded) -> bool:
    """Whether a remark that something has none of its rows comes only of the faulty ones among them."""
    if finding.severity != "remark" or finding.about[:1] not in (("roles",), ("courses",)) or finding.column != "id":
        return False
    rows = "requirements" if finding.about[0] == "roles" else "outcomes"
    return rows in loaded.unread or any(name == rows and key[0] == finding.about[1] for name, key in loaded.faulty)
