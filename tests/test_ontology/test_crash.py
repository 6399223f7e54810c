"""kill -9 at any moment: the store is at the old revision or the new one, whole, and opens again."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest
from killed_writer import GRAPH, build_state, kill_once, n_bulk, rewind

from ontology.store.engine import Store


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.parametrize(
    ("phase", "is_bulk", "wanted"),
    [("commit", False, 50), ("bulk", True, 30), ("swap", True, 20)],
    ids=["commit", "bulk-load", "swap"],
)
def test_a_killed_writer_leaves_the_old_or_the_new_revision_whole(
    phase: str, is_bulk: bool, wanted: int, tmp_path: Path
) -> None:
    """One hundred kills inside commits, bulk loads and swaps: the last phase the writer told is unfinished."""
    rng = random.Random(phase)
    inside = 0
    for attempt in range(wanted * 6):
        path = tmp_path / f"store-{attempt // 5}"
        before = _read_revision(path)
        last = kill_once(path, is_bulk=is_bulk, phase=phase, rng=rng)
        store = Store.open(path)
        revision = store.revision
        state = set(store.read_graph(GRAPH))
        kept = rewind(store)
        store.close()
        assert revision >= before
        assert state == build_state(revision, n_bulk=n_bulk(is_bulk))
        assert kept == [build_state(r, n_bulk=n_bulk(is_bulk)) for r in range(revision, -1, -1)]
        assert len(list((path / "history").glob("*"))) == (2 * revision - 1 if is_bulk and revision else 0)
        assert len([p for p in path.iterdir() if p.name.startswith("generation-")]) == 1
        assert not list(path.glob("*/bulk-*.sst"))
        inside += last == phase
        if inside == wanted:
            break
    assert inside == wanted, f"only {inside} kills fell inside the phase {phase}"


def _read_revision(path: Path) -> int:
    if not (path / "CURRENT").exists():
        return 0
    store = Store.open(path)
    revision = store.revision
    store.close()
    return revision
