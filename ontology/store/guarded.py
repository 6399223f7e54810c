"""How a change reaches the engine in one guarded step: as one operation of text, or in a new generation.

A generation is a clone that is filled beside other work and pointed to when it is whole; a text is one operation that
does nothing where its guard is not there.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

import pyoxigraph as ox

from ontology.errors import StaleError
from ontology.rdf.namespaces import Quad
from ontology.store.bulk_text import DISK_FACTOR, load_beside, watch_room
from ontology.store.folder import StoreFolder
from ontology.store.rewriting import RewritableStore

__all__ = ["GuardedStore", "load_lines"]


class GuardedStore(RewritableStore):
    """A store that is changed in guarded steps. See `Store` for the rest of it."""

    def _has(self, quad: Quad) -> bool:
        graph, s, p, o = quad
        return bool(self.select(f"SELECT ?g WHERE {{ VALUES ?g {{ <{graph}> }} GRAPH ?g {{ {s} {p} {o} }} }}"))

    def _require_guard(self, guard: Iterable[Quad]) -> None:
        if not all(map(self._has, guard)):
            raise StaleError("The store has changed since this was worked out; nothing was stored.")

    def _write_text(self, update: str) -> None:
        if self._folder is not None:
            self._folder.require_free(DISK_FACTOR * len(update))
        self._engine.update(update)
        if self._folder is not None:
            self._engine.flush()  # the engine does not sync by itself; a power cut would lose the change

    def _load_generation(
        self,
        folder: StoreFolder,
        batches: Iterable[bytes],
        verify: Callable[[], None] | None,
        make_last_update: Callable[[], str],
    ) -> None:
        clone_path = folder.next_generation()
        try:
            clone = self._make_clone(clone_path, watch_room(batches, folder.require_free), verify)
            clone.update(make_last_update())
            clone.flush()
        except BaseException as error:
            traceback.clear_frames(error.__traceback__)  # they hold the clone, and it the lock of its files
            folder.remove_generation(clone_path)
            raise
        folder.switch_to(clone_path)
        # readers that still hold the old engine keep it open until they are done
        self._engine = clone

    def _make_clone(self, path: Path, batches: Iterable[bytes], verify: Callable[[], None] | None) -> ox.Store:
        self._engine.backup(str(path))
        clone = ox.Store(str(path))
        # the engine works without holding up other threads, so the checks run beside it
        load_beside(partial(load_lines, clone), batches, verify)
        return clone


def load_lines(engine: ox.Store, lines: bytes) -> None:
    """Load quads (N-Quads text) into an engine in bulk."""
    engine.bulk_load(lines, format=ox.RdfFormat.N_QUADS, lenient=True)
