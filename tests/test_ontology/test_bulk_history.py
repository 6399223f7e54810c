"""The patches of bulk commits in files: format, order, checksums, what restarts, backups and restores make of them."""

from __future__ import annotations

import gzip
import hashlib
import shutil
import subprocess
from pathlib import Path

import pytest

from ontology.errors import FileFormatError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store import engine
from ontology.store.backups import backup_store, restore_store
from ontology.store.bulk_history import QUADS_PER_MEMBER, iterate_members
from ontology.store.engine import Store
from ontology.store.folder import StoreFolder
from ontology.store.history import read_commits, read_patches

G, P = ns.GRAPH_FRAMEWORK, ns.GRAPH_PEOPLE
CLASS = "<http://x.example/Class>"


@pytest.fixture(autouse=True)
def _small_texts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "TEXT_LIMIT", 10)


def build(n: int, *, graph: str = G, value: str = "v", first: int = 0) -> list[Quad]:
    """Return quads of n nodes, each with its type and a text that holds what texts can hold."""
    quads = []
    for i in range(first, first + n):
        node = f"<http://x.example/{i}>"
        quads.append((graph, node, ns.RDF_TYPE, CLASS))
        quads.append((graph, node, "<http://x.example/p>", ns.text_term(f'{value} <a> "b" \\ \u2028 \n . {i}')))
    return quads


def get_file(path: Path, name: str) -> Path:
    return path / "history" / name


def test_a_bulk_commit_leaves_its_patch_as_n_quads(tmp_path: Path) -> None:
    added = build(6_000)
    store = Store.open(tmp_path / "s", create=True)
    store.commit([*added, *build(30, graph=P)], [], who="w", why="y")
    store.commit(build(50, value="w"), added[:200], who="w", why="y")
    names = sorted(file.name for file in (tmp_path / "s" / "history").iterdir())
    assert names == [
        "000000001.added.nq.gz",
        "000000001.people.added.nq.gz",
        "000000002.added.nq.gz",
        "000000002.removed.nq.gz",
    ]
    content = get_file(tmp_path / "s", names[0]).read_bytes()
    assert [member.count(b"\n") for member in iterate_members(content)] == [QUADS_PER_MEMBER] * 3
    assert content[4:8] == b"\0" * 4  # no time stamp (RFC 1952, section 2.3.1)
    expected = "".join(f"{s} {p} {o} <{g}> .\n" for g, s, p, o in added).encode()
    assert gzip.decompress(content) == expected
    unpacked = subprocess.run(
        ["zcat", str(get_file(tmp_path / "s", names[0]))], capture_output=True, check=True, timeout=20
    )
    assert unpacked.stdout == expected
    first, second = read_patches(store, read_commits(store))
    assert (first[1].added, first[1].removed) == ([*added, *build(30, graph=P)], [])
    assert set(second[1].added) == set(build(50, value="w")) - set(added)
    assert set(second[1].removed) == set(added[:200]) - set(build(50, value="w"))
    store.close()


def test_the_activity_names_each_file_with_its_checksum(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit([*build(30), *build(30, graph=P)], [], who="w", why="y")
    rows = store.select(
        f"SELECT ?file ?sum WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ <{ns.HISTORY}1> <{ns.NW}patchFile> ?file . "
        f"?file <{ns.NW}sha256> ?sum }} }}"
    )
    assert {(iri.rsplit("/", 1)[1], checksum) for iri, checksum in rows} == {
        (file.name, hashlib.sha256(file.read_bytes()).hexdigest()) for file in (tmp_path / "s" / "history").iterdir()
    }
    assert len(rows) == 2
    store.close()


def test_a_node_that_vanishes_in_bulk_is_known_to_have_been_there() -> None:
    store = Store.in_memory()
    store.commit([*build(30), *build(30, graph=P)], [], who="w", why="y")
    store.commit([], [*build(20), *build(20, graph=P)], who="w", why="y")
    assert set(store.read_graph(f"{ns.HISTORY}2/framework/removed")) == {
        (f"{ns.HISTORY}2/framework/removed", *quad[1:]) for quad in build(20) if quad[2] == ns.RDF_TYPE
    }
    assert store.count(f"{ns.PERSONAL_HISTORY}2/people/removed") == 20


def test_a_store_in_memory_keeps_the_same_bytes(tmp_path: Path) -> None:
    on_disk, in_memory = Store.open(tmp_path / "s", create=True), Store.in_memory()
    for store in (on_disk, in_memory):
        store.commit(build(3_000), [], who="w", why="y")
        store.commit(build(40, value="w"), build(40), who="w", why="y")
    assert [commit.files for commit in read_commits(on_disk)] == [commit.files for commit in read_commits(in_memory)]
    for (_, one), (_, other) in zip(
        read_patches(on_disk, read_commits(on_disk)), read_patches(in_memory, read_commits(in_memory)), strict=True
    ):
        assert (one.added, one.removed) == (other.added, other.removed)
    on_disk.close()


def test_what_goes_is_written_in_order_whatever_order_the_store_reads_in() -> None:
    store = Store.in_memory()
    store.commit(build(3_000), [], who="w", why="y")
    store.commit([], reversed(build(2_800)), who="w", why="y")
    (file,) = read_commits(store)[-1].files
    assert list(store.patches.iterate_quads(file)) == sorted(build(2_800))


def test_quads_of_one_node_are_found_without_taking_all_apart() -> None:
    store = Store.in_memory()
    store.commit(build(9_000), [], who="w", why="y")
    (file,) = read_commits(store)[0].files
    found = list(store.patches.iterate_quads(file, ["<http://x.example/7777>"]))
    assert found == build(1, first=7_777)


def test_files_of_commits_that_never_came_to_be_go_at_the_start(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit(build(30), [], who="w", why="y")
    store.close()
    for name in ("000000002.added.nq.gz", "000000003.people.removed.nq.gz"):
        get_file(tmp_path / "s", name).write_bytes(b"half")
    Store.open(tmp_path / "s").close()
    assert [file.name for file in (tmp_path / "s" / "history").iterdir()] == ["000000001.added.nq.gz"]


def test_a_commit_that_is_stopped_leaves_no_file(tmp_path: Path) -> None:
    def stop() -> None:
        raise ValueError("stopped")

    for store in (Store.open(tmp_path / "s", create=True), Store.in_memory()):
        with pytest.raises(ValueError, match="stopped"):
            store.commit(build(5_000), [], who="w", why="y", verify=stop)
        assert store.commit(build(30), [], who="w", why="y") == 1
        assert [patch.added for _, patch in read_patches(store, read_commits(store))] == [build(30)]
        store.close()
    assert [file.name for file in (tmp_path / "s" / "history").iterdir()] == ["000000001.added.nq.gz"]


@pytest.mark.parametrize("fault", ["changed", "missing"])
def test_a_damaged_file_is_told(fault: str, tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit(build(30), [], who="w", why="y")
    file = get_file(tmp_path / "s", "000000001.added.nq.gz")
    if fault == "missing":
        file.unlink()
    else:
        file.write_bytes(file.read_bytes()[:-1] + b"x")
    with pytest.raises(FileFormatError, match=r"000000001\.added\.nq\.gz is"):
        list(read_patches(store, read_commits(store)))
    store.close()


def make_backup(tmp_path: Path) -> Path:
    """Make a store of two bulk commits with a backup of the first; return the backup."""
    store = Store.open(tmp_path / "s", create=True)
    store.commit(build(30), [], who="w", why="y")
    store.close()
    backup_store(tmp_path / "s", tmp_path / "t")
    store = Store.open(tmp_path / "s")
    store.commit(build(30, value="other"), [], who="w", why="y")
    store.commit(build(30, value="third"), [], who="w", why="y")
    store.close()
    return tmp_path / "t"


def test_a_restore_puts_the_history_of_the_backup_in_its_place(tmp_path: Path) -> None:
    """Revision 2 comes again with another content, and so does its file."""
    backup = make_backup(tmp_path)
    assert restore_store(backup, tmp_path / "s") == 1
    assert [file.name for file in (tmp_path / "s" / "history").iterdir()] == ["000000001.added.nq.gz"]
    store = Store.open(tmp_path / "s")
    store.commit(build(40, first=100), [], who="w", why="y")
    assert [patch.added for _, patch in read_patches(store, read_commits(store))] == [build(30), build(40, first=100)]
    store.close()
    assert not list((tmp_path / "s").glob("history-*"))


@pytest.mark.parametrize("fault", ["changed", "missing"])
@pytest.mark.parametrize("has_checksums", [True, False])
def test_a_backup_whose_history_is_damaged_is_refused(fault: str, has_checksums: bool, tmp_path: Path) -> None:
    backup = make_backup(tmp_path)
    file = get_file(backup, "000000001.added.nq.gz")
    if fault == "missing":
        file.unlink()
    else:
        file.write_bytes(b"x" + file.read_bytes())
    if not has_checksums:  # it was opened as a store meanwhile
        (backup / "checksums.json").unlink()
    with pytest.raises(FileFormatError, match="damaged"):
        restore_store(backup, tmp_path / "s")
    store = Store.open(tmp_path / "s")
    assert len(list(read_patches(store, read_commits(store)))) == store.revision == 3
    store.close()
    assert not list((tmp_path / "s").glob("history-*"))


@pytest.mark.parametrize("moment", ["before", "after", "half-way"])
def test_a_restore_that_is_killed_leaves_one_history_or_the_other(
    moment: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Killed(BaseException):
        pass

    def die(*_: object) -> None:
        raise Killed

    backup = make_backup(tmp_path)
    switch = StoreFolder.switch_to
    with monkeypatch.context() as patch:
        # nothing is tidied up by a process that was killed
        patch.setattr(shutil, "rmtree", lambda path, ignore_errors=False: None)
        if moment == "before":
            patch.setattr(StoreFolder, "switch_to", die)
        else:
            patch.setattr(StoreFolder, "switch_to", lambda self, generation: (switch(self, generation), die()))
        with pytest.raises(Killed):
            restore_store(backup, tmp_path / "s")
    if moment == "half-way":
        shutil.rmtree(tmp_path / "s" / "history")
    assert list((tmp_path / "s").glob("history-*"))
    store = Store.open(tmp_path / "s")
    assert store.revision == (3 if moment == "before" else 1)
    assert len(list(read_patches(store, read_commits(store)))) == store.revision
    store.close()
    assert not list((tmp_path / "s").glob("history-*"))


def test_a_store_made_of_what_a_killed_restore_left_keeps_its_own_history(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Killed(BaseException):
        pass

    def die(*_: object) -> None:
        raise Killed

    backup = make_backup(tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(shutil, "rmtree", lambda path, ignore_errors=False: None)
        patch.setattr(StoreFolder, "switch_to", die)
        with pytest.raises(Killed):
            restore_store(backup, tmp_path / "new")
    for revision in (2, 3):
        store = Store.open(tmp_path / "new", create=True)
        assert store.commit(build(30, first=100 * revision), [], who="w", why="y") == revision
        store.close()
    store = Store.open(tmp_path / "new")
    patches = [patch.added for _, patch in read_patches(store, read_commits(store))]
    assert patches == [build(30), build(30, first=200), build(30, first=300)]
    store.close()
