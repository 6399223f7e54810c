"""A person is taken out of a store and its past: no byte is left, and all else stays as it was."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from erased_company import CANARIES, CONTROL, PERSON, build_past, find_canaries, read_bytes

from ontology.about_person import collect_about
from ontology.erasure import build_revise, erase_people
from ontology.errors import NotFoundError
from ontology.history.rows import Counted, count_rows
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.references import PEOPLE_AS_TEXT
from ontology.model.tables import TABLES
from ontology.rdf.namespaces import DATA_GRAPHS
from ontology.snapshot.snapshot import Snapshot
from ontology.store import engine
from ontology.store.backups import copy_store, restore_store
from ontology.store.erasures import read_erasures
from ontology.store.history import Commit, read_commits, read_patches


def make_key(person: str) -> str:
    return f"key of {len(person)}"


@pytest.fixture(params=["texts", "files"])
def graph(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[LiveGraph]:
    """The company on disk, its commits as patch graphs or as files."""
    if request.param == "files":
        monkeypatch.setattr(engine, "TEXT_LIMIT", 10)
    opened = LiveGraph.open(tmp_path / "store", create=True)
    build_past(opened)
    yield opened
    opened.close()


def list_states(graph: LiveGraph, last: int) -> list[Snapshot]:
    present = graph.get_snapshot()
    return [graph.past.get_snapshot(revision, present) for revision in range(last + 1)]


def count_all(graph: LiveGraph, last: int) -> list[Counted]:
    commits = [one for one in read_commits(graph.store) if one.revision <= last]
    erasures = read_erasures(graph.store)
    return [
        count_rows(patch.added, patch.removed).with_gone(erasures.get_gone(commit.revision))
        for commit, patch in read_patches(graph.store, commits, DATA_GRAPHS)
    ]


def without(state: Snapshot, person: str, alias: str) -> dict[str, set[Any]]:
    """Return what is to be left of a state, worked out from its records."""
    own = {id(one) for records in collect_about(state, person).own.values() for one in records}
    left: dict[str, set[Any]] = {}
    for name in TABLES:
        others = (one for one in state.get_table(name).values() if id(one) not in own)
        left[name] = {_reword(one, person, alias) for one in others}
    return left


def _reword(record: Any, person: str, alias: str) -> Any:
    news = {name: alias for name in PEOPLE_AS_TEXT if getattr(record, name, None) == person}
    if getattr(record, "supervised_by", None) == person:
        news["supervised_by"] = ""
    return dataclasses.replace(record, **news)


def test_every_state_is_what_it_was_without_the_person(graph: LiveGraph) -> None:
    before, counts = list_states(graph, 5), count_all(graph, 5)
    commits = read_commits(graph.store)
    erase_people(graph, [PERSON], who="administrator", make_key=make_key)
    for was, now in zip(before, list_states(graph, 5), strict=True):
        # there is one of "erased" already, for the same person, competency, day and level: none is lost
        assert {name: set(now.get_table(name).values()) for name in TABLES} == without(was, PERSON, "erased 2")
    assert graph.get_snapshot().revision == 6
    compiled = compile_snapshot(graph.store)
    assert all(compiled.get_table(name) == graph.get_snapshot().get_table(name) for name in TABLES)
    assert count_all(graph, 5) == counts, "how many rows each commit changed stays known"
    assert [(c.revision, c.when, c.n_added, c.n_removed, c.is_bulk) for c in read_commits(graph.store)[:5]] == [
        (c.revision, c.when, c.n_added, c.n_removed, c.is_bulk) for c in commits
    ]


def test_no_byte_of_the_store_tells_of_them(graph: LiveGraph, tmp_path: Path) -> None:
    assert set(find_canaries(tmp_path)) == set(CANARIES)
    erase_people(graph, [PERSON], who="administrator", make_key=make_key)
    assert find_canaries(tmp_path) == []
    assert CONTROL.encode() in read_bytes(tmp_path)
    copy_store(graph.store, tmp_path / "copy")
    assert find_canaries(tmp_path) == []


def test_the_history_tells_of_the_erasure_and_not_of_whom(graph: LiveGraph) -> None:
    erase_people(graph, [PERSON], who="administrator", make_key=make_key)
    commits: list[Commit] = read_commits(graph.store)
    assert (commits[-1].who, commits[-1].why) == ("administrator", "erased 1 person")
    assert (commits[1].who, commits[4].why) == ("erased", "as erased said")
    erasures = graph.past.get_erasures()
    assert [erasures.count_missing(revision) for revision in range(7)] == [0, 1, 1, 1, 1, 1, 0]
    assert erasures.keys == {make_key(PERSON)}
    # what was said of a change of people goes where it names them
    said = "SELECT ?why WHERE { GRAPH ?g { ?s ?p ?why } FILTER(STRENDS(STR(?g), '/why')) }"
    assert graph.store.select(said) == [("removed one",)]


def test_a_second_erasure_adds_to_the_first(graph: LiveGraph) -> None:
    counts = count_all(graph, 5)
    erase_people(graph, [PERSON], who="a", make_key=make_key)
    erase_people(graph, ["p1"], who="a", make_key=make_key)
    assert count_all(graph, 5) == counts
    assert sorted(graph.get_snapshot().people) == ["p2"]
    assert sorted(one.assessor for one in graph.get_snapshot().get_assessments("p2")) == ["erased", "erased 2"]
    assert [graph.past.get_erasures().count_missing(revision) for revision in (1, 6, 7)] == [2, 1, 0]


def test_who_was_removed_before_is_erased_from_the_past(graph: LiveGraph, tmp_path: Path) -> None:
    gone = collect_about(graph.get_snapshot(), PERSON)
    keys = [(name, TABLES[name].get_key(one)) for name, records in gone.own.items() for one in records]
    duty = graph.get_snapshot().get_table("duties")
    put = tuple(("duties", dataclasses.replace(one, supervised_by="")) for one in duty.values())
    graph.apply(Change(put, tuple(keys)), who="w", why="left")
    erase_people(graph, [PERSON], who="a", make_key=make_key)
    assert find_canaries(tmp_path) == []
    assert [graph.past.get_erasures().count_missing(revision) for revision in range(8)] == [0, 1, 1, 1, 1, 1, 0, 0]


def test_nobody_is_erased_with_someone_unknown(graph: LiveGraph) -> None:
    with pytest.raises(NotFoundError, match="no person 'nobody'"):
        erase_people(graph, [PERSON, "nobody"], who="a", make_key=make_key)
    assert graph.get_snapshot().revision == 5
    assert PERSON in graph.get_snapshot().people


def test_a_copy_from_before_does_not_bring_them_back(graph: LiveGraph, tmp_path: Path) -> None:
    copy, store = tmp_path / "copy", tmp_path / "anew"
    copy_store(graph.store, copy)
    assert restore_store(copy, store, build_revise(PERSON.__eq__, "a", make_key)) == 6
    assert find_canaries(store) == []
    assert sorted(path.name for path in store.iterdir()) == ["CURRENT", "LOCK", "generation-1", "history"]
    assert restore_store(copy, store, build_revise("nobody".__eq__, "a", make_key)) == 5
    assert set(find_canaries(store)) == set(CANARIES)


def test_a_store_in_memory_forgets_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "TEXT_LIMIT", 10)
    graph = LiveGraph.in_memory()
    build_past(graph)
    erase_people(graph, [PERSON], who="a", make_key=make_key)
    assert PERSON not in graph.past.get_snapshot(1, graph.get_snapshot()).people
    assert graph.past.get_snapshot(1, graph.get_snapshot()).people.keys() == {"p1", "p2"}


def test_drafts_and_releases_are_those_of_before_without_the_name(graph: LiveGraph) -> None:
    erase_people(graph, [PERSON], who="admin", make_key=make_key)
    (draft,) = graph.drafts.list_all()
    assert (draft.title, draft.author, draft.number) == ("What erased wants", "erased", 1)
    assert [(one.who, one.why) for one in graph.drafts.list_edits("spring")][1] == ("erased", "erased said so")
    items = graph.drafts.get_state("spring").snapshot.orientation_items
    assert {name: (item.label, item.owner) for name, item in items.items()} == {
        "tour": ("A longer tour", "erased 2"),
        "visit": ("A visit", "erased 2"),
    }
    assert not graph.drafts.get_state("spring").conflicts
    (release,) = graph.releases.list_all()
    assert (release.author, release.why) == ("erased", "as erased asked")
