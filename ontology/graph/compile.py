"""From the store to a Snapshot. Imports store, reader, snapshot."""

from __future__ import annotations

from ontology.graph.snapshot import Snapshot
from ontology.reader import read_records
from ontology.store import Store


def compile_snapshot(store: Store) -> Snapshot:
    """Return the Snapshot of the store's present revision.

    Runs under the writer lock, since a store has no snapshot over several queries. O(n log n) time and O(n)
    memory for n triples.
    """
    with store.lock:
        return Snapshot(read_records(store), revision=store.revision, store_id=store.store_id)
