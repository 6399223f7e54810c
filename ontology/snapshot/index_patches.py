"""Indexes carried from one Snapshot to the next: after a small change only the touched groups are made anew.

Imports columns and tables. An index is a cached attribute of a Snapshot; what is not carried over is built when asked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from ontology.model.columns import Key
from ontology.model.tables import TABLES

#: A record before and after a change, None where there was or is none.
Edit = tuple[Any, Any]

#: Attribute -> table, and the field its records are grouped by ("": one record an id).
INDEXES: Final[dict[str, tuple[str, str]]] = {
    "scales": ("scales", "scale"),
    "competencies": ("competencies", ""),
    "roles": ("roles", ""),
    "courses": ("courses", ""),
    "teams": ("teams", ""),
    "shifts": ("shifts", ""),
    "people": ("people", ""),
    "places": ("places", ""),
    "_requirements_by_role": ("requirements", "role"),
    "_requirements_by_competency": ("requirements", "competency"),
    "_outcomes_by_course": ("outcomes", "course"),
    "_outcomes_by_competency": ("outcomes", "competency"),
    "_conditions_by_course": ("entry_conditions", "course"),
    "_assessments_by_person": ("assessments", "person"),
    "_absences_by_person": ("absences", "person"),
    "_people_by_team": ("people", "team"),
    "_shifts_by_team": ("shifts", "team"),
    "_needs_by_team": ("cover_needs", "team"),
    "_places_by_team": ("places", "team"),
}
#: Attributes that are carried over as they are while their table is untouched.
WHOLE_INDEXES: Final[dict[str, str]] = {"_assessments_by_pair": "assessments", "_narrower": "competencies"}
#: Larger changes build their indexes anew.
MOST_EDITS: Final = 1_000


def collect_edits(
    tables: Mapping[str, Mapping[Key, Any]], put: Iterable[tuple[str, Any]], remove: Iterable[tuple[str, Key]]
) -> dict[str, list[Edit]]:
    """Return table -> the records before and after, for changes of `tables`; removals come first."""
    edits: defaultdict[str, dict[Key, Edit]] = defaultdict(dict)
    for name, key in remove:
        edits[name][key] = (tables[name].get(key), None)
    for name, record in put:
        key = TABLES[name].get_key(record)
        edits[name][key] = (tables[name].get(key), record)
    return {name: list(changed.values()) for name, changed in edits.items()}


def carry_indexes(kept: Mapping[str, Any], edits: Mapping[str, Sequence[Edit]]) -> dict[str, Any]:
    """Return the indexes of the next Snapshot that can be had from those of the last one.

    O(size of an index) to copy a touched one, O(group log group) for each group that changes.
    """
    if sum(map(len, edits.values())) > MOST_EDITS:
        return {}
    carried: dict[str, Any] = {}
    for name, (table, field) in INDEXES.items():
        if name in kept:
            carried[name] = _patch(kept[name], table, field, edits[table]) if table in edits else kept[name]
    for name, table in WHOLE_INDEXES.items():
        if name in kept and table not in edits:
            carried[name] = kept[name]
    return carried


def _patch(index: Mapping[str, Any], table_name: str, field: str, edits: Sequence[Edit]) -> dict[str, Any]:
    get_key = TABLES[table_name].get_key
    patched = dict(index)
    is_reordered = False
    for old, new in edits:
        for record in (old, new):
            if record is None:
                continue
            group_key = getattr(record, field) if field else record.id
            if field:
                group = [other for other in patched.get(group_key, ()) if get_key(other) != get_key(record)]
                if record is new:
                    group.append(record)
                    group.sort(key=get_key)
                value: Any = tuple(group)
            else:
                value = new
            is_reordered = is_reordered or group_key not in patched or not value
            if value:
                patched[group_key] = value
            else:
                patched.pop(group_key, None)
    return dict(sorted(patched.items())) if is_reordered else patched
