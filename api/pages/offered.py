"""What may be typed into a field that holds ids: the records of small tables, and what an id there is the name of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from api.desk.record_words import name_reference
from api.pages.forms.form import Field
from ontology.snapshot.snapshot import Snapshot

__all__ = ["list_offered", "name_beside"]

#: Tables of at most so many records are offered whole; of larger ones a script fetches what is begun to type.
MOST_OFFERED: Final = 250


def name_beside(snapshot: Snapshot, fields: Sequence[Field]) -> dict[str, str]:
    """Return field -> what people read for the ids in it, where that is another word."""
    beside = {}
    for one in fields:
        ids = [line.strip() for line in one.text.split("\n") if line.strip()] if one.control.table else []
        names = [name_reference(snapshot, one.control.table, record_id) for record_id in ids]
        if names != ids:
            beside[one.control.name] = ", ".join(names)
    return beside


def list_offered(
    snapshot: Snapshot, fields: Sequence[Field], most: int = MOST_OFFERED
) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Return table -> the ids and names of its records, for those that open fields refer to. O(records)."""
    tables = sorted({one.control.table for one in fields if not one.is_fixed} - {""})
    return {name: _name_all(snapshot, name) for name in tables if len(getattr(snapshot, name)) <= most}


def _name_all(snapshot: Snapshot, table_name: str) -> tuple[tuple[str, str], ...]:
    return tuple((one, name_reference(snapshot, table_name, one)) for one in getattr(snapshot, table_name))
