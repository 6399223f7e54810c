"""What of a record only tells and what computes: a change of what only tells changes no number of any answer. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any, Final

from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Edits", "find_edits", "is_computing"]

#: Every other column computes, also one that is still to come.
TELLING_COLUMNS: Final = frozenset(
    {"label", "definition", "description", "alt_labels", "exact_match", "remark", "measured_level", "family", "broader"}
)
TELLING_TABLES: Final = frozenset({"translations", "framework", "mappings"})

#: Table -> key -> the record before and after, None where there was or is none.
Edits = Mapping[str, Mapping[Key, tuple[Any, Any]]]


def find_edits(before: Snapshot, after: Snapshot) -> Edits:
    """Return the records that came, went, or differ in a column that computes.

    O(records of the tables that differ).
    """
    edits: defaultdict[str, dict[Key, tuple[Any, Any]]] = defaultdict(dict)
    for name, key, old, new in before.iterate_differences(after):
        if is_computing(name, old, new):
            edits[name][key] = (old, new)
    return dict(edits)


def is_computing(table: str, old: Any, new: Any) -> bool:
    """Whether one record in place of another, or of none, can change a number."""
    if table in TELLING_TABLES:
        return False
    if old is None or new is None:
        return True
    return any(
        getattr(old, column.attribute) != getattr(new, column.attribute)
        for column in TABLES[table].columns
        if column.name not in TELLING_COLUMNS
    )
