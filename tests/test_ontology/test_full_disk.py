"""A full disk: one clear error, the old state, and the store opens again."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from ontology.errors import StorageFullError
from ontology.rdf import namespaces as ns
from ontology.store.bulk_history import PatchWriter
from ontology.store.engine import TEXT_LIMIT, Store
from ontology.store.folder import StoreFolder

G = ns.GRAPH_FRAMEWORK
MANY = [(G, f"<http://x.example/{i}>", "<http://x.example/p>", f'"{str(i) * 40}"') for i in range(TEXT_LIMIT + 1)]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 6 MB in memory; only root can mount one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root can mount a small disk")
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if mounted.returncode != 0:
        pytest.skip("this machine does not allow mounting a small disk")
    yield folder
    subprocess.run(["umount", "--lazy", str(folder)], check=True)


def test_a_change_larger_than_the_free_disk_is_refused_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit(MANY[:1], [], who="w", why="y")
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: usage._replace(free=20_000_000))
    store.commit(MANY[1:2], [], who="w", why="y")
    with pytest.raises(StorageFullError, match="20 MB free"):
        store.commit(MANY, [], who="w", why="y")
    assert (store.revision, store.count(G)) == (2, 2)
    store.close()


def test_a_disk_that_fills_up_during_a_load_leaves_the_old_state(
    small_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(StoreFolder, "require_free", lambda self, n_bytes: None)
    store = Store.open(small_disk / "s", create=True)
    store.commit(MANY[:1], [], who="w", why="y")
    with pytest.raises(StorageFullError, match="could not be written"):
        store.commit(MANY * 1 + [(g, s, p, f'"{o[1:-1] * 9}"') for g, s, p, o in MANY], [], who="w", why="y")
    assert (store.revision, set(store.read_graph(G))) == (1, set(MANY[:1]))
    assert [path.name for path in (small_disk / "s").glob("generation-*")] == ["generation-1"]
    assert store.commit(MANY[1:3], [], who="w", why="y") == 2
    store.close()
    again = Store.open(small_disk / "s")
    assert (again.revision, set(again.read_graph(G))) == (2, set(MANY[:3]))
    again.close()


def test_a_disk_without_room_for_the_history_leaves_the_old_state(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The quads fit, their patch does not: neither is there afterwards."""
    store = Store.open(tmp_path / "s", create=True)
    store.commit(MANY[:1], [], who="w", why="y")
    more = [(g, s, p, f'"{o[1:-1]} more"') for g, s, p, o in MANY[:10]]
    write, written = PatchWriter._write, []

    def fill_up(self: PatchWriter, name: str, lines: Sequence[str]) -> None:
        written.append(name)
        if len(written) == 4:
            raise OSError(errno.ENOSPC, "No space left on device")
        write(self, name, lines)

    monkeypatch.setattr(PatchWriter, "_write", fill_up)
    with pytest.raises(StorageFullError, match="could not be written"):
        store.commit([*MANY, *more], [], who="w", why="y")
    assert (store.revision, set(store.read_graph(G))) == (1, set(MANY[:1]))
    assert list((tmp_path / "s" / "history").iterdir()) == []
    monkeypatch.setattr(PatchWriter, "_write", write)
    assert store.commit([*MANY, *more], [], who="w", why="y") == 2
    store.close()
