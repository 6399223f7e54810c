"""The folder of a store: pointer, lock, leftovers, and what is refused."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ontology.errors import FileFormatError, StoreLockedError
from ontology.rdf import namespaces as ns
from ontology.store import folder as store_folder
from ontology.store.engine import Store
from ontology.store.folder import StoreFolder

QUAD = (ns.GRAPH_FRAMEWORK, "<http://x.example/a>", "<http://x.example/p>", '"v"')


def make_store(path: Path) -> Path:
    store = Store.open(path, create=True)
    store.commit([QUAD], [], who="w", why="y")
    store.close()
    return path


def test_a_file_is_no_store_folder(tmp_path: Path) -> None:
    (tmp_path / "s").write_text("x")
    with pytest.raises(FileFormatError, match="is a file"):
        Store.open(tmp_path / "s", create=True)


@pytest.mark.parametrize("pointer", ["generation-9", "../elsewhere", "", "LOCK"])
def test_a_pointer_to_nothing_is_damage_and_lets_go_of_the_lock(pointer: str, tmp_path: Path) -> None:
    path = make_store(tmp_path / "s")
    (tmp_path / "elsewhere").mkdir()
    (path / "CURRENT").write_text(pointer)
    with pytest.raises(FileFormatError, match="is damaged"):
        Store.open(path)
    (path / "CURRENT").write_text("generation-1\n")
    store = Store.open(path)
    assert list(store.read_graph(ns.GRAPH_FRAMEWORK)) == [QUAD]
    store.close()


def test_damaged_files_of_the_engine_are_reported_and_let_go_of_the_lock(tmp_path: Path) -> None:
    path = make_store(tmp_path / "s")
    manifest = next((path / "generation-1").glob("MANIFEST-*"))
    sound = manifest.read_bytes()
    manifest.write_bytes(b"\0" * 100)
    with pytest.raises(FileFormatError, match="cannot be read"):
        Store.open(path)
    with pytest.raises(FileFormatError, match="cannot be read"):
        Store.require_sound(path / "generation-1", path)
    manifest.write_bytes(sound)
    store = Store.open(path)
    assert store.revision == 1
    store.close()


def test_what_a_killed_process_leaves_is_removed(tmp_path: Path) -> None:
    path = make_store(tmp_path / "s")
    (path / "generation-2").mkdir()
    leftovers = [
        path / "generation-1" / "bulk-17.sst",
        path / "generation-2" / "half",
        path / "CURRENT.new",
        path / "backup-request-0f",
        path / "backup-answer-0f.new",
    ]
    for leftover in leftovers:
        leftover.write_text("x")
    Store.open(path).close()
    assert not any(leftover.exists() for leftover in leftovers)
    assert not (path / "generation-2").exists()


def test_without_file_locks_the_lock_of_the_engine_holds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_folder, "fcntl", None)
    path = make_store(tmp_path / "s")
    store = Store.open(path)
    with pytest.raises(StoreLockedError, match="Another process"):
        Store.open(path)
    assert store.revision == 1
    store.close()


def test_a_pointer_is_switched_where_folders_cannot_be_synced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(os, "O_DIRECTORY")
    folder = StoreFolder(make_store(tmp_path / "s"))
    assert folder.get_current().name == "generation-1"
    (folder.path / "generation-2").mkdir()
    folder.switch_to(folder.path / "generation-2")
    assert folder.get_current().name == "generation-2"


def test_letting_go_of_what_is_not_held_changes_nothing(tmp_path: Path) -> None:
    folder = StoreFolder(make_store(tmp_path / "s"))
    folder.release()
    folder.acquire()
    with pytest.raises(StoreLockedError):
        StoreFolder(folder.path).acquire()
    folder.release()
    folder.release()
    again = StoreFolder(folder.path)
    again.acquire()
    again.release()
