"""Backups: of a store at rest and of one in use; restoring in one step or not at all."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from companies import build_company

from ontology.errors import FileFormatError, InputError, NotFoundError, StoreLockedError
from ontology.live import compile as compiling
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.store import backups
from ontology.store.backups import answer_backup_requests, backup_store, restore_store
from ontology.store.engine import Store

G = ns.GRAPH_FRAMEWORK


def commit(path: Path, *subjects: str) -> None:
    store = Store.open(path, create=True)
    for subject in subjects:
        quad = (G, f"<http://x.example/{subject}>", "<http://x.example/p>", '"v"')
        store.commit([quad], [], who="w", why="y")
    store.close()


def read(path: Path) -> tuple[int, list[str]]:
    store = Store.open(path)
    held = store.revision, sorted(quad[1][18:-1] for quad in store.read_graph(G))
    store.close()
    return held


@pytest.fixture
def in_use(tmp_path: Path) -> Iterator[Store]:
    """A store that is open and answers requests for backups."""
    commit(tmp_path / "s", "a")
    store = Store.open(tmp_path / "s")
    thread = answer_backup_requests(store)
    yield store
    store.close()
    shutil.rmtree(tmp_path / "s")
    assert thread is not None
    thread.join(10)
    assert not thread.is_alive()


def test_a_backup_is_a_store_of_its_own(tmp_path: Path) -> None:
    commit(tmp_path / "s", "a", "b")
    assert backup_store(tmp_path / "s", tmp_path / "copies" / "monday") == 2
    commit(tmp_path / "s", "c")
    assert read(tmp_path / "copies" / "monday") == (2, ["a", "b"])
    assert read(tmp_path / "s") == (3, ["a", "b", "c"])


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_a_backup_never_overwrites(kind: str, tmp_path: Path) -> None:
    commit(tmp_path / "s", "a")
    target = tmp_path / "t"
    if kind == "folder":
        target.mkdir()
        target = target / "letter.txt"
    target.write_text("dear")
    with pytest.raises(FileFormatError, match="exists already"):
        backup_store(tmp_path / "s", tmp_path / "t")
    assert target.read_text() == "dear"


def test_a_backup_of_nothing_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="There is no store"):
        backup_store(tmp_path / "none", tmp_path / "t")
    with pytest.raises(NotFoundError, match="There is no backup"):
        restore_store(tmp_path / "none", tmp_path / "s")
    assert not (tmp_path / "s").exists()


def test_restoring_brings_the_old_state_back_and_can_make_a_new_store(tmp_path: Path) -> None:
    commit(tmp_path / "s", "a")
    backup_store(tmp_path / "s", tmp_path / "t")
    commit(tmp_path / "s", "b", "c")
    assert restore_store(tmp_path / "t", tmp_path / "s") == 1
    assert restore_store(tmp_path / "t", tmp_path / "elsewhere") == 1
    assert read(tmp_path / "s") == read(tmp_path / "elsewhere") == read(tmp_path / "t") == (1, ["a"])
    assert len(list((tmp_path / "s").glob("generation-*"))) == 1


def test_a_damaged_backup_leaves_the_store_as_it_was(tmp_path: Path) -> None:
    commit(tmp_path / "s", "a")
    backup_store(tmp_path / "s", tmp_path / "t")
    commit(tmp_path / "s", "b")
    for file in (tmp_path / "t" / "generation-1").glob("MANIFEST-*"):
        file.write_bytes(b"\0" * 100)
    with pytest.raises(FileFormatError, match="is damaged"):
        restore_store(tmp_path / "t", tmp_path / "s")
    assert read(tmp_path / "s") == (2, ["a", "b"])
    assert len(list((tmp_path / "s").glob("generation-*"))) == 1


def test_a_store_in_use_is_not_restored(in_use: Store, tmp_path: Path) -> None:
    backup_store(tmp_path / "s", tmp_path / "t")
    with pytest.raises(StoreLockedError):
        restore_store(tmp_path / "t", tmp_path / "s")
    assert in_use.revision == 1


def test_a_cache_of_a_state_that_was_undone_is_never_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Revision 2 before the restore and revision 2 after it are two states of one store."""
    path = tmp_path / "s"
    graph = LiveGraph.open(path, create=True)
    graph.load(build_company(2), who="t", why="w")
    graph.close()
    backup_store(path, tmp_path / "t")
    monkeypatch.setattr(compiling, "CACHE_FROM", 1)
    graph = LiveGraph.open(path)
    graph.apply(Change(put=(("roles", TABLES["roles"].build(id="undone", label="N")),)), who="t", why="w")
    graph.close()
    assert restore_store(tmp_path / "t", path) == 1
    monkeypatch.setattr(compiling, "CACHE_FROM", 1_000_000)
    graph = LiveGraph.open(path)
    graph.apply(Change(put=(("roles", TABLES["roles"].build(id="done", label="N")),)), who="t", why="w")
    graph.store.close()  # as a killed process would: no cache is written
    graph = LiveGraph.open(path)
    assert "done" in graph.get_snapshot().roles
    assert "undone" not in graph.get_snapshot().roles
    assert graph.get_snapshot() == compile_snapshot(graph.store)
    graph.close()


def test_a_store_in_use_answers_requests_from_elsewhere(in_use: Store, tmp_path: Path) -> None:
    assert backup_store(tmp_path / "s", tmp_path / "t") == in_use.revision == 1
    assert read(tmp_path / "t") == (1, ["a"])
    with pytest.raises(FileFormatError, match="exists already"):
        backup_store(tmp_path / "s", tmp_path / "t")
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        backup_store(tmp_path / "s", tmp_path / "file" / "below")
    assert not list((tmp_path / "s").glob("backup-*"))


def test_a_request_that_makes_no_sense_is_answered_with_an_error(in_use: Store, tmp_path: Path) -> None:
    assert in_use.path is not None
    for content in ("{", "[]", '{"from": "x"}'):
        request = in_use.path / "backup-request-0f"
        request.write_text(content)
        backups._answer(in_use, in_use.path, request)
        answer = in_use.path / "backup-answer-0f"
        assert "could not be written" in json.loads(answer.read_text())["error"]
        assert not request.exists()
        answer.unlink()


def test_a_store_whose_holder_does_not_answer_is_reported(tmp_path: Path) -> None:
    commit(tmp_path / "s", "a")
    silent = Store.open(tmp_path / "s")
    with pytest.raises(StoreLockedError, match="does not answer"):
        backup_store(tmp_path / "s", tmp_path / "t", timeout_s=0.3)
    assert not list((tmp_path / "s").glob("backup-*"))
    assert not (tmp_path / "t").exists()
    silent.close()


def test_a_store_in_memory_has_no_folder_to_watch() -> None:
    assert answer_backup_requests(Store.in_memory()) is None
