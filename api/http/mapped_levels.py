"""The JSON form of an item with what else a state tells of it: of a scale, what its levels count as on others."""

from __future__ import annotations

from typing import Any

from api.http.collection import Collection
from ontology.snapshot.level_maps import list_maps
from ontology.snapshot.snapshot import Snapshot


def dump_told(snapshot: Snapshot, collection: Collection, item: Any) -> dict[str, Any]:
    """Return the JSON form of an item; of a scale with the ranks of its levels on other scales, where maps say so."""
    dumped = collection.dump_whole(item, snapshot)
    maps = list_maps(snapshot, dumped["id"]) if collection.table.name == "scales" else ()
    for level in dumped["levels"] if maps else ():
        level["counts_as"] = [{"scale": other, "rank": levels[level["rank"]]} for other, levels in maps]
    return dumped
