"""The form of a scale: its id, and a row of fields for each of its levels."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from api.pages.forms.controls import build_control
from api.pages.forms.faults import Fault
from api.pages.forms.form import Body, Field, build_fields, format_texts, read_body
from ontology.model.columns import ID_COLUMN, Column, Table

__all__ = ["build_scale_fields", "format_scale_texts", "read_scale_body"]

#: Rows for levels that are not there yet.
_MORE_ROWS: Final = 2
_ROWS_OF_NEW: Final = 5
#: The fields of a level: "levels.0.label".
_NAME: Final = re.compile(r"levels\.(\d{1,3})\.(\w+)", re.ASCII)


def _list_columns(table: Table) -> tuple[Column, ...]:
    """Return the columns of a level; the scale is the form's own, and the rank is the place in it."""
    return tuple(column for column in table.columns if column.attribute not in table.key)


def format_scale_texts(table: Table, members: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of a scale's members, by the names of their fields."""
    texts = {"id": str(members.get("id", ""))}
    for at, level in enumerate(members.get("levels", ())):
        row = format_texts(_list_columns(table), level)
        texts |= {f"levels.{at}.{name}": text for name, text in row.items()}
    return texts


def build_scale_fields(
    table: Table, texts: Mapping[str, str], faults: Sequence[Fault], *, is_fixed: bool
) -> tuple[Field, ...]:
    """Return the fields of a scale: as many rows as it has levels, and some for more."""
    told = tuple(fault.reason for fault in faults if fault.field == "id")
    fields = [Field(build_control(table, ID_COLUMN), texts.get("id", ""), told, is_fixed)]
    known = [int(match[1]) for name in texts if (match := _NAME.fullmatch(name))]
    for at in range(max(known) + 1 + _MORE_ROWS if known else _ROWS_OF_NEW):
        prefix = f"levels.{at}."
        row = {name.removeprefix(prefix): text for name, text in texts.items() if name.startswith(prefix)}
        columns, before = _list_columns(table), f"Level {at + 1}: "
        level = build_fields(table, row, faults, levels_of=lambda _: (), columns=columns, prefix=prefix, before=before)
        # a row may stay empty
        fields += (replace(one, control=replace(one.control, is_required=False)) for one in level)
    return tuple(fields)


def read_scale_body(table: Table, posted: Mapping[str, str], shown: Mapping[str, Any] | None) -> Body:
    """Return the body of what was typed: rows that say nothing are passed over, the others numbered from 1."""
    rows: dict[int, dict[str, str]] = {}
    members: dict[str, Any] = {}
    for name, text in posted.items():
        match = _NAME.fullmatch(name)
        if match is None:
            members[name] = text
        else:
            rows.setdefault(int(match[1]), {})[match[2]] = text
    levels: list[dict[str, Any]] = []
    present: Sequence[Any] = shown["levels"] if shown is not None else ()
    for at, row in sorted(rows.items()):
        if any(text.strip() for text in row.values()):
            read = read_body(_list_columns(table), row, present[at] if at < len(present) else None)
            levels.append({**read.members, "rank": len(levels) + 1})
    return Body({**members, "levels": levels}, {})
