"""The service that finds ids by what people call things."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from ontology.graph.search import FOUND, find_near, find_records
from ontology.graph.snapshot import Snapshot


def find_by_name(snapshot: Snapshot, text: str, limit: int) -> dict[str, Any]:
    """Return the records that a text finds, at most `limit`, and what is spelt nearly so where there is none."""
    matches = find_records(snapshot, text)
    near = [] if matches else [(table, record_id) for table in FOUND for record_id in find_near(snapshot, text, table)]
    spelt = [asdict(find_records(snapshot, record_id, (table,))[0]) for table, record_id in near]
    return {
        "text": text,
        "found": len(matches),
        "matches": [asdict(match) for match in matches[:limit]],
        "near": [{name: row[name] for name in ("kind", "id", "label")} for row in spelt],
        "revision": snapshot.revision,
        "cautions": [],
    }
