"""From the store to a Snapshot, with a cache on disk for large ones.

The cache brings numpy: where a store is too small to keep one, it is not imported.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Final

from ontology.mapping.reader import read_records
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store
from ontology.store.folder import CACHE_FILE

#: Below this many records a full compile is as fast as reading the cache.
CACHE_FROM: Final = 20_000


def compile_snapshot(store: Store) -> Snapshot:
    """Return the Snapshot of the store's present revision, read from the store.

    Runs under the writer lock, since a store has no snapshot over several queries. O(n log n) time and O(n)
    memory for n triples.
    """
    with store.lock:
        return Snapshot(read_records(store), revision=store.revision, store_id=store.store_id)


def get_snapshot_of(store: Store) -> Snapshot:
    """Return the Snapshot of the present revision: from the cache on disk where it fits, compiled otherwise."""
    with store.lock:
        if store.path is not None and (store.path / CACHE_FILE).exists():
            from ontology.live.cache import load_snapshot

            kept = load_snapshot(store.path / CACHE_FILE, store.store_id, store.revision)
            if kept is not None:
                return kept
        snapshot = compile_snapshot(store)
        keep_snapshot(store, snapshot)
        return snapshot


def keep_snapshot(store: Store, snapshot: Snapshot) -> None:
    """Write the cache of a large store; a disk that does not take it changes nothing."""
    draft = draft_cache(store, snapshot)
    if draft is not None:
        publish_cache(store, draft)


def draft_cache(store: Store, snapshot: Snapshot) -> Path | None:
    """Write the cache of a large store beside its place, for a revision that is not committed yet; None: not kept."""
    if store.path is None or sum(1 for _ in snapshot.iterate_records()) < CACHE_FROM:
        return None
    from ontology.live.cache import draft_snapshot

    try:
        return draft_snapshot(snapshot, store.path / CACHE_FILE)
    except OSError:
        (store.path / (CACHE_FILE + ".new")).unlink(missing_ok=True)
        return None


def publish_cache(store: Store, draft: Path) -> None:
    """Put a draft in its place, now that its revision is the store's."""
    from ontology.live.cache import publish_draft

    if store.path is not None:
        with suppress(OSError):
            publish_draft(draft, store.path / CACHE_FILE)
