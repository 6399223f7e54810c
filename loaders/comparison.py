"""What a load would make of each table: which rows are new, which change a record, which say what is there already."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loaders.report import TableChange
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["compare"]


def compare(records: Mapping[str, Sequence[Any]], present: Snapshot) -> dict[str, TableChange]:
    """Return table -> what its rows would change of a state, for every table with rows. O(rows).

    A load takes nothing away: what is stored and not in the file stays as it is.
    """
    changes = {}
    for name in TABLES:
        rows = records.get(name, ())
        if not rows:
            continue
        stored = present.get_all(name)
        new, changed, n_same = [], [], 0
        for key, record in TABLES[name].iterate_keyed(rows):
            known = stored.get(key)
            if known is None:
                new.append(key)
            elif known == record:
                n_same += 1
            else:
                changed.append(key)
        n_kept = len(stored) - len(changed) - n_same
        changes[name] = TableChange(tuple(new), tuple(changed), n_same, n_kept)
    return changes
