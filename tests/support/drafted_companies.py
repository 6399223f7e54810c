"""A random company that is edited on two sides: in a draft, and directly; only edits that both sides could publish."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Iterator
from typing import Any

from edited_companies import OF_OTHERS
from working_companies import build_working_company

from ontology.errors import ConflictError, FindingsError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.rdf.namespaces import DATA_GRAPHS, Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store

__all__ = ["DraftedCompany", "list_framework", "read_quads"]


class DraftedCompany:
    """A company of a seed, as often as is asked, and changes of its records that are not about people."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self._seed = seed
        self._quads: list[Quad] = []
        others = (Snapshot(build_working_company(self.rng.randrange(10_000))) for _ in range(3))
        pairs = (pair for other in others for pair in other.iterate_records())
        self._pool = [pair for pair in pairs if pair[0] not in PERSONAL_TABLES]

    def make(self) -> LiveGraph:
        """Return the company in memory, at revision 1: checked once, then written as it is."""
        if not self._quads:
            graph = LiveGraph.in_memory()
            graph.load(build_working_company(self._seed), (OF_OTHERS,), who="t", why="all")
            self._quads = sorted(read_quads(graph))
        store = Store.in_memory()
        store.commit(self._quads, [], who="t", why="all")
        return LiveGraph(store)

    def draw(self, n: int) -> list[Change]:
        """Return n changes that can be made one after the other, directly."""
        graph, changes = self.make(), []
        for change in self._iterate_changes(graph, 12 * n):
            with contextlib.suppress(FindingsError, ConflictError):
                before = graph.store.revision
                if graph.apply(change, who="t", why="w").revision > before:
                    changes.append(change)
            if len(changes) == n:
                break
        return changes

    def _iterate_changes(self, graph: LiveGraph, n: int) -> Iterator[Change]:
        rng = self.rng
        for _ in range(n):
            present = [pair for pair in graph.get_snapshot().iterate_records() if pair[0] not in PERSONAL_TABLES]
            if rng.random() < 0.3:
                name, record = rng.choice(present)
                yield Change(remove=((name, TABLES[name].get_key(record)),))
            elif rng.random() < 0.5:
                yield Change(put=(rng.choice(self._pool),))
            else:
                yield Change(put=(self._alter(*rng.choice(present), rng.choice(self._pool)[1]),))

    def _alter(self, name: str, record: Any, other: Any) -> tuple[str, Any]:
        """Return a record with one column that is drawn, from a like record where there is one."""
        table = TABLES[name]
        like = [one for table_name, one in self._pool if table_name == name] or [other]
        column = self.rng.choice([column for column in table.columns if column.attribute not in table.key])
        source = self.rng.choice(like)
        values = {one.attribute: getattr(record, one.attribute) for one in table.columns}
        return name, table.record(**values | {column.attribute: getattr(source, column.attribute, None)})


def list_framework(snapshot: Snapshot) -> list[tuple[str, Any]]:
    """Return the records that are not about people."""
    return [pair for pair in snapshot.iterate_records() if pair[0] not in PERSONAL_TABLES]


def read_quads(graph: LiveGraph) -> set[Quad]:
    """Return all that a store says of the world."""
    return {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}
