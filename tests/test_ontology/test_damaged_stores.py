"""Damage, kills and wrong places: a store is the old one or the new one, and one sentence says what is wrong."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from ontology.errors import (
    FileFormatError,
    InputError,
    StorageFullError,
    StoreLockedError,
    UnavailableError,
)
from ontology.rdf import namespaces as ns
from ontology.store import folder as store_folder
from ontology.store.backups import backup_store, restore_store
from ontology.store.copies import CHECKSUMS
from ontology.store.engine import Store
from ontology.store.engine_faults import reading_store

QUAD = (ns.GRAPH_FRAMEWORK, "<http://x.example/a>", "<http://x.example/p>", '"v"')
OTHER = (ns.GRAPH_FRAMEWORK, "<http://x.example/b>", "<http://x.example/p>", '"v"')


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A store at revision 2, whose backup `b` holds revision 1."""
    for quad in (QUAD, OTHER):
        store = Store.open(tmp_path / "s", create=True)
        store.commit([quad], [], who="w", why="y")
        store.close()
        if quad is QUAD:
            backup_store(tmp_path / "s", tmp_path / "b")
    return tmp_path / "s"


def read(path: Path) -> tuple[int, int]:
    store = Store.open(path)
    held = store.revision, store.count(ns.GRAPH_FRAMEWORK)
    store.close()
    return held


def _empty(backup: Path) -> None:
    for file in (backup / "generation-1").iterdir():
        file.unlink()


def _empty_without_sums(backup: Path) -> None:
    _empty(backup)
    (backup / CHECKSUMS).unlink()


def _flip_one_bit(backup: Path) -> None:
    file = max((backup / "generation-1").glob("*.sst"), key=lambda file: file.stat().st_size)
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    file.write_bytes(data)


def _add_a_file(backup: Path) -> None:
    (backup / "generation-1" / "000999.sst").write_bytes(b"x")


def _break_sums(backup: Path) -> None:
    (backup / CHECKSUMS).write_text("{")


def _point_outside(backup: Path) -> None:
    (backup / "CURRENT").write_text("generation-1/../..")


def _point_to_bytes(backup: Path) -> None:
    (backup / "CURRENT").write_bytes(b"\xff\xfe" * 4_000)


@pytest.mark.parametrize(
    "damage",
    [_empty, _empty_without_sums, _flip_one_bit, _add_a_file, _break_sums, _point_outside, _point_to_bytes],
    ids=lambda damage: damage.__name__.strip("_"),
)
def test_a_backup_that_is_not_as_it_was_written_is_never_put_back(
    damage: Callable[[Path], None], path: Path, tmp_path: Path
) -> None:
    damage(tmp_path / "b")
    with pytest.raises(FileFormatError, match="damaged") as caught:
        restore_store(tmp_path / "b", path)
    assert str(tmp_path / "b") in caught.value.detail
    assert "\n" not in caught.value.detail
    assert read(path) == (2, 2)


def test_a_store_whose_files_are_gone_is_damaged_and_not_empty(path: Path) -> None:
    for file in (path / "generation-1").iterdir():
        file.unlink()
    for _ in range(2):
        with pytest.raises(FileFormatError, match="holds no revision"):
            Store.open(path)


def test_damage_is_not_told_as_a_lock(path: Path) -> None:
    # "block checksum mismatch" holds the letters of "lock"
    Store.open(path).close()
    for file in (path / "generation-1").glob("*.sst"):
        data = bytearray(file.read_bytes())
        data[:300] = bytes(byte ^ 255 for byte in data[:300])
        file.write_bytes(data)
    with pytest.raises(FileFormatError, match="files are damaged; restore a backup"):
        Store.open(path)


def test_a_store_with_a_damaged_pointer_can_be_restored(path: Path, tmp_path: Path) -> None:
    (path / "CURRENT").write_text("generation-x")
    assert restore_store(tmp_path / "b", path) == 1
    assert read(path) == (1, 1)


def test_a_backup_shares_no_file_with_its_store(path: Path, tmp_path: Path) -> None:
    files = list((tmp_path / "b" / "generation-1").iterdir())
    assert any(file.suffix == ".sst" for file in files)
    assert {file.stat().st_nlink for file in files} == {1}
    assert read(path) == (2, 2)


def test_a_backup_opened_as_a_store_changes_and_can_still_be_put_back(path: Path, tmp_path: Path) -> None:
    assert (tmp_path / "b" / CHECKSUMS).exists()
    assert read(tmp_path / "b") == (1, 1)
    assert not (tmp_path / "b" / CHECKSUMS).exists()
    assert restore_store(tmp_path / "b", path) == 1


@pytest.mark.parametrize("name", ["backup-monday", "generation-7", "deep/below", "."])
def test_a_backup_into_the_store_itself_is_refused(name: str, path: Path) -> None:
    with pytest.raises(InputError, match=r"in the store itself|exists already"):
        backup_store(path, path / name)
    assert read(path) == (2, 2)


def test_what_others_put_into_the_folder_does_not_keep_a_store_from_opening(path: Path) -> None:
    (path / "backup-by-hand").mkdir()
    assert read(path) == (2, 2)
    assert (path / "backup-by-hand").is_dir()


def test_a_backup_in_use_and_the_store_itself_are_not_put_back(path: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is the store itself"):
        restore_store(path, path)
    store = Store.open(tmp_path / "b")
    with pytest.raises(StoreLockedError):
        restore_store(tmp_path / "b", path)
    store.close()
    assert read(path) == (2, 2)


def test_a_backup_below_a_file_is_one_sentence(path: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written: Not a directory"):
        backup_store(path, tmp_path / "file" / "below")


def test_a_backup_that_fails_leaves_nothing(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("ontology.store.backups.write_checksums", fail)
    with pytest.raises(StorageFullError, match="No space left"):
        backup_store(path, tmp_path / "c")
    assert not (tmp_path / "c").exists()


@pytest.mark.parametrize("step", ["copytree", "switch"])
def test_a_disk_that_fills_up_during_a_restore_leaves_the_old_state(
    step: str, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        if step == "copytree":
            patched.setattr(shutil, "copytree", fail)
        else:
            patched.setattr(store_folder.StoreFolder, "switch_to", fail)
        with pytest.raises(StorageFullError, match="No space left"):
            restore_store(tmp_path / "b", path)
    assert read(path) == (2, 2)
    assert len(list(path.glob("generation-*"))) == 1


def test_a_restore_asks_for_room_before_it_copies(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_folder, "RESERVE_BYTES", 1 << 60)
    with pytest.raises(StorageFullError, match="this change needs"):
        restore_store(tmp_path / "b", path)
    assert not list(path.glob("generation-2"))


@pytest.mark.parametrize("leftover", ["CURRENT.new", "generation-1/half"])
def test_a_store_whose_making_was_killed_can_be_made_again(leftover: str, tmp_path: Path) -> None:
    folder = tmp_path / "s"
    (folder / "generation-1").mkdir(parents=True)
    (folder / "LOCK").write_text("")
    (folder / leftover).write_text("x")
    store = Store.open(folder, create=True)
    assert store.revision == 0
    store.close()
    assert read(folder) == (0, 0)


def test_a_store_that_lost_its_pointer_keeps_its_content(path: Path) -> None:
    (path / "CURRENT").unlink()
    store = Store.open(path, create=True)
    assert store.revision == 2
    store.close()
    (path / "CURRENT").unlink()
    (path / "generation-4").mkdir()
    with pytest.raises(FileFormatError, match="2 generations"):
        Store.open(path, create=True)


def test_a_making_that_fails_can_be_tried_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise OSError("IO error: No space left on device: While appending to file")

    with monkeypatch.context() as patched:
        patched.setattr(Store, "_initialise", fail)
        with pytest.raises(StorageFullError, match="is full"):
            Store.open(tmp_path / "s", create=True)
    assert not list((tmp_path / "s").glob("generation-*"))
    Store.open(tmp_path / "s", create=True).close()


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (OSError("IO error: While lock file: s/LOCK: Resource temporarily unavailable"), StoreLockedError),
        (OSError(30, "Read-only file system", "s/LOCK"), UnavailableError),
        (RuntimeError("IO error: Permission denied: While open a file"), UnavailableError),
        (RuntimeError("Corruption: block checksum mismatch\nin s"), FileFormatError),
    ],
)
def test_each_fault_of_the_engine_is_told_as_what_it_is(error: Exception, kind: type[Exception]) -> None:
    with pytest.raises(kind) as caught, reading_store(Path("s")):
        raise error
    assert type(caught.value) is kind
    assert "\n" not in str(caught.value)
