"""A company that is edited again and again: every table, small commits and bulk ones; a copy of each state is kept."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from working_companies import build_working_company

from ontology.errors import ConflictError, FindingsError
from ontology.history.rows import build_rows
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.changes import Row
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store import engine
from ontology.store.history import Commit, read_commits, read_patches

__all__ = ["EditedCompany", "build_edited", "bulk_from"]

#: What no table holds: it comes and goes with the rest, and is in no Snapshot.
OF_OTHERS = (ns.GRAPH_FRAMEWORK, "<http://x.example/topic>", "<http://x.example/says>", '"2.0"')


@contextmanager
def bulk_from(n: int) -> Iterator[None]:
    """Let commits of more than n quads be bulk ones."""
    usual = engine.TEXT_LIMIT
    engine.TEXT_LIMIT = n  # type: ignore[misc]
    try:
        yield
    finally:
        engine.TEXT_LIMIT = usual  # type: ignore[misc]


class EditedCompany:
    """A graph with the Snapshot of every revision, kept as it was made; `path` None: in memory."""

    def __init__(self, seed: int, path: Path | None = None) -> None:
        self.rng = random.Random(seed)
        self.path = path
        self.graph = LiveGraph.in_memory() if path is None else LiveGraph.open(path, create=True)
        self.kept: list[Snapshot] = [self.graph.get_snapshot()]
        others = (Snapshot(build_working_company(self.rng.randrange(10_000))) for _ in range(4))
        self._pool = [pair for other in others for pair in other.iterate_records()]
        with bulk_from(self.rng.choice([20, 20_000])):
            self.graph.load(build_working_company(seed), (OF_OTHERS,), who="t", why="the first load")
        self.keep()

    def keep(self) -> None:
        """Keep the present Snapshot if it is new."""
        present = self.graph.get_snapshot()
        if present.revision == len(self.kept):
            self.kept.append(present)

    def edit(self) -> None:
        """Make one change of one to many records; where it breaks a rule nothing happens."""
        rng = self.rng
        present = list(self.graph.get_snapshot().iterate_records())
        n = rng.choice([1, 1, 1, 3, 40])
        put = tuple(rng.sample(self._pool, n))
        gone = [(name, TABLES[name].get_key(record)) for name, record in rng.sample(present, min(n // 2 + 1, 4))]
        change = Change(put=put) if rng.random() < 0.5 else Change(remove=tuple(gone))
        with bulk_from(rng.choice([5, 20_000])), contextlib.suppress(FindingsError, ConflictError):
            self.graph.apply(change, who="t", why="an edit")
        self.keep()

    def load(self) -> None:
        """Load another company over this one, in bulk."""
        with bulk_from(5), contextlib.suppress(FindingsError, ConflictError):
            self.graph.load(build_working_company(self.rng.randrange(10_000)), who="t", why="a load")
        self.keep()

    def close(self) -> None:
        """Close the store."""
        self.graph.close()

    def open(self) -> None:
        """Open it again."""
        if self.path is not None:
            self.graph = LiveGraph.open(self.path)


def build_edited(seed: int) -> tuple[EditedCompany, list[tuple[Commit, list[Row]]]]:
    """Return an edited company and the rows of each of its commits, oldest first."""
    company = EditedCompany(seed)
    for step in range(7):
        company.edit()
        if step == 3:
            company.load()
    store = company.graph.store
    patches = read_patches(store, read_commits(store))
    return company, [
        (commit, build_rows(company.kept[commit.revision - 1], patch.added, patch.removed)) for commit, patch in patches
    ]
