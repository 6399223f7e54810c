"""The Snapshot kept on disk: equal to a full compile, or not used."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from working_companies import build_working_company

from ontology.errors import FindingsError
from ontology.live import compile as compiling
from ontology.live import live_graph as live
from ontology.live.cache import load_snapshot, save_snapshot
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.store.folder import CACHE_FILE


@settings(max_examples=draws(20), deadline=None)
@given(seed=st.integers(0, 10_000))
def test_what_is_kept_is_what_was_compiled(seed: int, tmp_path_factory: pytest.TempPathFactory) -> None:
    snapshot = Snapshot(build_working_company(seed), revision=7, store_id="x")
    path = tmp_path_factory.mktemp("cache") / "cache.npz"
    save_snapshot(snapshot, path)
    kept = load_snapshot(path, "x", 7)
    assert kept == snapshot
    assert kept is not None
    assert (kept.revision, kept.store_id) == (7, "x")


def test_a_cache_of_another_store_or_revision_is_not_used(tmp_path: Path) -> None:
    save_snapshot(Snapshot(build_working_company(1), revision=7, store_id="x"), tmp_path / "c")
    assert load_snapshot(tmp_path / "c", "x", 8) is None
    assert load_snapshot(tmp_path / "c", "y", 7) is None
    assert load_snapshot(tmp_path / "none", "x", 7) is None


@pytest.mark.parametrize("cut", [0, 1, 100, 5_000])
def test_a_damaged_cache_is_not_used(cut: int, tmp_path: Path) -> None:
    save_snapshot(Snapshot(build_working_company(1), revision=7, store_id="x"), tmp_path / "c")
    (tmp_path / "c").write_bytes((tmp_path / "c").read_bytes()[:cut])
    assert load_snapshot(tmp_path / "c", "x", 7) is None


def test_a_large_store_opens_from_its_cache_and_notices_every_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiling, "CACHE_FROM", 1)
    graph = LiveGraph.open(tmp_path / "s", create=True)
    graph.load(build_working_company(2), who="t", why="w")
    graph.close()
    assert (tmp_path / "s" / CACHE_FILE).exists()
    monkeypatch.setattr(compiling, "read_records", lambda store: pytest.fail("the cache was not used"))
    again = LiveGraph.open(tmp_path / "s")
    first = again.get_snapshot()
    again.apply(Change(put=(("roles", TABLES["roles"].build(id="n", label="N")),)), who="t", why="w")
    monkeypatch.undo()
    again.store.close()  # as a killed process would: the cache stays at the old revision
    third = LiveGraph.open(tmp_path / "s")
    assert "n" not in first.roles
    assert "n" in third.get_snapshot().roles
    assert third.get_snapshot() == compile_snapshot(third.store)
    third.close()


def test_a_disk_that_does_not_take_the_cache_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*arguments: object, **named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(compiling, "CACHE_FROM", 1)
    monkeypatch.setattr(np, "savez", fail)
    graph = LiveGraph.open(tmp_path / "s", create=True)
    graph.load(build_working_company(2), who="t", why="w")
    loaded = graph.get_snapshot()
    graph.close()
    assert not list((tmp_path / "s").glob("snapshot-cache*"))
    again = LiveGraph.open(tmp_path / "s")
    assert again.get_snapshot() == loaded
    again.close()


@pytest.mark.parametrize("is_sound", [True, False])
def test_a_load_leaves_the_cache_of_the_revision_it_made_and_of_no_other(
    is_sound: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (compiling, live):
        monkeypatch.setattr(module, "CACHE_FROM", 1)
    graph = LiveGraph.open(tmp_path / "s", create=True)
    graph.load(build_working_company(2), who="t", why="w")
    assert load_snapshot(tmp_path / "s" / CACHE_FILE, graph.store.store_id, 1) == graph.get_snapshot()
    role = TABLES["roles"].build(id="n", label="N")
    need = TABLES["requirements"].build(role="n" if is_sound else "nobody", competency="none", level=1)
    records = {"roles": [role], "requirements": [] if is_sound else [need]}
    if is_sound:
        assert graph.load(records, who="t", why="w").revision == 2
    else:
        with pytest.raises(FindingsError):
            graph.load(records, who="t", why="w")
    kept = load_snapshot(tmp_path / "s" / CACHE_FILE, graph.store.store_id, 2)
    assert (kept == graph.get_snapshot()) if is_sound else (kept is None)
    assert not list((tmp_path / "s").glob("snapshot-cache*.new"))
    graph.close()
