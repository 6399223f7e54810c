"""A mapping that says exact stands among the exact matches of its competency, in the same commit, and goes with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from ontology.model.columns import Key
from ontology.model.mapping_tables import ACCEPTED, Mapping
from ontology.snapshot.snapshot import Snapshot

__all__ = ["follow_mappings"]


def follow_mappings(
    present: Snapshot, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]]
) -> tuple[tuple[str, Any], ...]:
    """Return the records to put, with the competencies whose exact matches follow from the mappings put and removed.

    A competency that is removed, or is nowhere, stays as it is: that is found by the checks. O(n) for n records.
    """
    steps = list(_iterate_steps(present, put, remove))
    if not steps:
        return tuple(put)
    gone = {key[0] for name, key in remove if name == "competencies"}
    changed = {record.id: record for name, record in put if name == "competencies"}
    for row, is_match in steps:
        record = changed.get(row.competency) or present.competencies.get(row.competency)
        if record is not None and row.competency not in gone and (row.target in record.exact_match) != is_match:
            matches = {*record.exact_match, row.target} if is_match else {*record.exact_match} - {row.target}
            changed[row.competency] = replace(record, exact_match=tuple(sorted(matches)))
    others = [pair for pair in put if pair[0] != "competencies"]
    return (*(("competencies", record) for record in changed.values()), *others)


def _iterate_steps(
    present: Snapshot, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]]
) -> Iterator[tuple[Mapping, bool]]:
    """Yield the mappings that make an exact match, with True, and those that no longer do, with False."""
    kept = present.get_table("mappings")
    for name, row in put:
        if name == "mappings":
            before = kept.get((row.competency, row.target))
            if _is_exact(row) or (before is not None and _is_exact(before)):
                yield row, _is_exact(row)
    for name, key in remove:
        if name == "mappings" and key in kept and _is_exact(kept[key]):
            yield kept[key], False


def _is_exact(row: Mapping) -> bool:
    return row.relation == "exact" and row.status == ACCEPTED
