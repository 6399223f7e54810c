"""The store door: one guarded commit, patches, revision, locks, generations."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ontology.errors import FileFormatError, FindingsError, NotFoundError, StaleError, StoreLockedError
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store import bulk_text
from ontology.store.engine import TEXT_LIMIT, Store

G = ns.GRAPH_FRAMEWORK
ROOT = Path(__file__).resolve().parents[2]


def quad(subject: str, text: str, graph: str = G) -> Quad:
    return (graph, f"<http://x.example/{subject}>", "<http://x.example/p>", ns.text_term(text))


def test_commit_raises_the_revision_by_one_and_keeps_the_patch() -> None:
    store = Store.in_memory()
    assert store.revision == 0
    assert store.commit([quad("a", "1")], [], who="w", why="y") == 1
    assert store.commit([quad("a", "2")], [quad("a", "1")], who="w", why="y") == 2
    assert set(store.read_graph(G)) == {quad("a", "2")}
    assert [q[3] for q in store.read_graph(ns.HISTORY + "2/framework/added")] == ['"2"']
    assert [q[3] for q in store.read_graph(ns.HISTORY + "2/framework/removed")] == ['"1"']


def test_only_net_quads_enter_a_patch() -> None:
    store = Store.in_memory()
    store.commit([quad("a", "1")], [], who="w", why="y")
    absent = quad("z", "never there")
    assert store.commit([quad("a", "1"), quad("b", "1")], [absent], who="w", why="y") == 2
    assert [q[1] for q in store.read_graph(ns.HISTORY + "2/framework/added")] == ["<http://x.example/b>"]
    assert store.count(ns.HISTORY + "2/framework/removed") == 0


def test_a_commit_without_net_change_writes_nothing() -> None:
    store = Store.in_memory()
    store.commit([quad("a", "1")], [], who="w", why="y")
    assert store.commit([quad("a", "1")], [quad("b", "1")], who="w", why="y") == 1


def test_stale_revision_is_refused_and_nothing_is_written() -> None:
    store = Store.in_memory()
    store.commit([quad("a", "1")], [], who="w", why="y")
    with pytest.raises(StaleError):
        store.commit([quad("b", "1")], [], who="w", why="y", expected_revision=0)
    assert store.revision == 1
    assert set(store.read_graph(G)) == {quad("a", "1")}


class Rival:
    """An engine on which another writer is always a moment faster: one server, two programs."""

    def __init__(self, engine: Any, store: Store) -> None:
        self.engine, self.store = engine, store

    def __getattr__(self, name: str) -> Any:
        return getattr(self.engine, name)

    def update(self, text: str) -> None:
        """Let the other one commit first, then try this update."""
        self.store._engine = self.engine
        self.store.commit([quad("rival", "first")], [], who="rival", why="faster")
        self.engine.update(text)


def test_a_commit_that_another_writer_overtook_is_no_success() -> None:
    """The revision is the expected one then, but the update of the slower writer has changed nothing."""
    store = Store.in_memory()
    store.commit([quad("a", "1")], [], who="w", why="y")
    store._engine = Rival(store._engine, store)  # type: ignore[assignment]
    with pytest.raises(StaleError, match="another one became revision 2"):
        store.commit([quad("b", "1")], [], who="w", why="y")
    assert store.revision == 2
    assert set(store.read_graph(G)) == {quad("a", "1"), quad("rival", "first")}


def test_each_commit_has_an_id_of_its_own() -> None:
    store = Store.in_memory()
    for n in (1, 2, 3):
        store.commit([quad("a", str(n))], [], who="w", why="y")
    ids = [o for _, _, p, o in store.read_graph(ns.GRAPH_HISTORY) if p.endswith("commitId>")]
    assert len(ids) == len(set(ids)) == 3


def test_personal_patches_stand_under_their_own_history() -> None:
    store = Store.in_memory()
    store.commit([quad("a", "1", ns.GRAPH_PEOPLE)], [], who="w", why="y")
    assert store.count(ns.PERSONAL_HISTORY + "1/people/added") == 1
    assert store.count(ns.HISTORY + "1/people/added") == 0


def test_threads_never_lose_a_commit() -> None:
    store = Store.in_memory()

    def work(name: str) -> None:
        for i in range(20):
            store.commit([quad(f"{name}-{i}", "x")], [], who=name, why="y")

    threads = [threading.Thread(target=work, args=(f"t{i}",)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert store.revision == 160
    assert store.count(G) == 160


@pytest.mark.parametrize("text", ['a "quoted" one', "back\\slash", "tab\tnew\nline\r", "\x01\x7f", "مرحبا ✓ 😀", "<&>"])
def test_any_text_comes_back_unchanged(text: str) -> None:
    store = Store.in_memory()
    store.commit([quad("a", text)], [], who="w", why=text)
    assert [q[3] for q in store.read_graph(G)] == [ns.text_term(text)]
    assert store.select(f"SELECT ?o WHERE {{ GRAPH <{G}> {{ ?s ?p ?o }} }}") == [(text,)]


def test_a_store_survives_closing(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit([quad("a", "1")], [], who="w", why="y")
    identity = store.store_id
    store.close()
    again = Store.open(tmp_path / "s")
    assert (again.revision, again.store_id, set(again.read_graph(G))) == (1, identity, {quad("a", "1")})
    again.close()


def test_large_commits_become_a_new_generation(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    store.commit([quad("a", "old")], [], who="w", why="y")
    many = [quad(f"n{i}", "x") for i in range(TEXT_LIMIT + 1)]
    assert store.commit(many, [quad("a", "old")], who="w", why="big") == 2
    assert store.count(G) == TEXT_LIMIT + 1
    assert (tmp_path / "s" / "CURRENT").read_text().strip() == "generation-2"
    store.close()
    again = Store.open(tmp_path / "s")
    assert again.revision == 2
    assert again.count(G) == TEXT_LIMIT + 1
    assert not (tmp_path / "s" / "generation-1").exists()
    again.close()


def test_a_generation_that_was_never_switched_to_is_removed_at_the_next_start(tmp_path: Path) -> None:
    Store.open(tmp_path / "s", create=True).close()
    leftover = tmp_path / "s" / "generation-7"
    leftover.mkdir()
    (tmp_path / "s" / "CURRENT.new").write_text("generation-7\n")
    Store.open(tmp_path / "s").close()
    assert not leftover.exists()
    assert not (tmp_path / "s" / "CURRENT.new").exists()


def test_a_second_opening_is_told_that_the_store_is_locked(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    with pytest.raises(StoreLockedError, match="Another process"):
        Store.open(tmp_path / "s")
    code = (
        "import sys; from pathlib import Path; from ontology.store.engine import Store; "
        "from ontology.errors import StoreLockedError\n"
        "try: Store.open(Path(sys.argv[1]))\n"
        "except StoreLockedError: print('locked')"
    )
    result = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "s")], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert result.stdout.strip() == "locked"
    store.close()
    Store.open(tmp_path / "s").close()


def test_a_missing_store_and_a_foreign_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="There is no store"):
        Store.open(tmp_path / "none")
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "letter.txt").write_text("x")
    with pytest.raises(FileFormatError, match="other files"):
        Store.open(tmp_path / "docs", create=True)
    assert (tmp_path / "docs" / "letter.txt").read_text() == "x"


def test_a_killed_process_leaves_the_committed_state(tmp_path: Path) -> None:
    code = (
        "import sys, os; from pathlib import Path\n"
        "from ontology.store.engine import Store; from ontology.rdf import namespaces as ns\n"
        "s = Store.open(Path(sys.argv[1]), create=True)\n"
        "for i in range(5):\n"
        "    s.commit([(ns.GRAPH_FRAMEWORK, f'<http://x/{i}>', '<http://x/p>', '\"v\"')], [], who='w', why='y')\n"
        "os.kill(os.getpid(), 9)"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "s")], cwd=ROOT, check=False)
    store = Store.open(tmp_path / "s")
    assert store.revision == 5
    assert store.count(G) == 5
    store.close()


def refuse() -> None:
    raise FindingsError("no", [])


@pytest.mark.parametrize("n", [1, TEXT_LIMIT + 1])
@pytest.mark.parametrize("is_on_disk", [True, False])
def test_a_check_that_fails_stops_a_commit_of_any_size(n: int, is_on_disk: bool, tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True) if is_on_disk else Store.in_memory()
    store.commit([quad("a", "1")], [], who="w", why="y")
    with pytest.raises(FindingsError):
        store.commit((quad(f"n{i}", "x") for i in range(n)), [], who="w", why="y", verify=refuse)
    assert (store.revision, set(store.read_graph(G))) == (1, {quad("a", "1")})
    assert len(list((tmp_path / "s").glob("generation-*"))) == (1 if is_on_disk else 0)
    store.close()


@pytest.mark.parametrize("is_on_disk", [True, False])
def test_a_large_change_is_net_whatever_comes_twice_or_is_there_already(
    is_on_disk: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same state and the same counts as of sets, with removals made after the last addition; in many batches."""
    monkeypatch.setattr(bulk_text, "QUADS_PER_BATCH", 3_000)
    store = Store.open(tmp_path / "s", create=True) if is_on_disk else Store.in_memory()
    old = [quad(f"old{i}", "x") for i in range(30)] + [quad("people", "x", ns.GRAPH_PEOPLE)]
    store.commit(old, [], who="w", why="y")
    many = [quad(f"n{i % (TEXT_LIMIT + 500)}", "é \U0001f600") for i in range(2 * TEXT_LIMIT)]
    taken: list[Quad] = []

    def add() -> Iterator[Quad]:
        for one in (*many, *old[:5]):
            taken.append(one)
            yield one

    def remove() -> Iterator[Quad]:
        assert len(taken) == len(many) + 5
        yield from (old[3], old[7], old[7], old[-1], quad("absent", "x"))

    assert store.commit(add(), remove(), who="w", why="big") == 2
    kept = {one for one in (*many, *old) if one not in (old[7], old[-1])}
    assert set(store.read_graph(G)) | set(store.read_graph(ns.GRAPH_PEOPLE)) == kept
    told = {p: o for _, s, p, o in store.read_graph(ns.GRAPH_HISTORY) if s.endswith("/2>")}
    assert told[ns.iri_term(ns.NW + "addedCount")] == ns.typed_term(str(len(set(many))), "integer")
    assert told[ns.iri_term(ns.NW + "removedCount")] == ns.typed_term("2", "integer")
    assert store.commit(many, [], who="w", why="again") == 2
    store.close()


def test_many_removals_are_one_commit() -> None:
    store = Store.in_memory()
    many = [quad(f"n{i}", "x") for i in range(TEXT_LIMIT + 1)]
    store.commit(many, [], who="w", why="y")
    assert store.commit([quad("a", "1")], many, who="w", why="y") == 2
    assert set(store.read_graph(G)) == {quad("a", "1")}


def test_a_load_that_the_engine_refuses_leaves_the_old_state(tmp_path: Path) -> None:
    """Its text breaks off in the middle: the writing end is told, the error comes out, the clone is removed."""
    store = Store.open(tmp_path / "s", create=True)
    store.commit([quad("a", "1")], [], who="w", why="y")
    broken = (G, "<http://x.example/a>", "no predicate", '"v"')
    many = [broken, *(quad(f"n{i}", "x" * 200) for i in range(TEXT_LIMIT + 1))]
    with pytest.raises(SyntaxError):
        store.commit(many, [], who="w", why="y")
    assert (store.revision, set(store.read_graph(G))) == (1, {quad("a", "1")})
    assert len(list((tmp_path / "s").glob("generation-*"))) == 1
    assert store.commit([quad("b", "1")], [], who="w", why="y") == 2
    store.close()


def test_only_rows_are_selected_and_only_memory_is_filled(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "s", create=True)
    with pytest.raises(ValueError, match="only SELECT"):
        store.select("ASK { ?s ?p ?o }")
    with pytest.raises(ValueError, match="commit only"):
        store.fill(G, [quad("a", "1")])
    store.close()
