"""Drafts: begun, edited, seen on the present, withdrawn, deleted; nobody's present changes by them."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from drafted import edit, fill, publish, record
from edited_companies import bulk_from

from ontology.errors import ConflictError, InputError, StaleError, UnknownIdError
from ontology.live.live_graph import Change, LiveGraph
from ontology.rdf import namespaces as ns


@pytest.fixture
def graph() -> LiveGraph:
    return fill(LiveGraph.in_memory())


def test_a_draft_is_seen_by_itself_and_changes_nothing_else(graph: LiveGraph) -> None:
    present = graph.get_snapshot()
    begun = graph.drafts.start("d", "A draft", who="Ana")
    assert (begun.base, begun.number, begun.state, begun.author) == (1, 0, "open", "Ana")
    edit(graph, record("competencies", id="d", label="New", scale="s5"))
    edit(graph, record("roles", id="r", label="Renamed"), remove=(("competencies", ("c",)),))
    state = graph.drafts.get_state("d")
    assert list(state.snapshot.competencies) == ["a", "b", "d"]
    assert state.snapshot.roles["r"].label == "Renamed"
    assert state.draft.number == 2
    assert not state.conflicts
    assert graph.get_snapshot() is present
    assert graph.store.revision == 1
    assert [(one.number, one.who, one.why) for one in graph.drafts.list_edits("d")] == [
        (0, "Ana", "began it"),
        (1, "Ana", "in the draft"),
        (2, "Ana", "in the draft"),
    ]


def test_what_is_changed_back_is_in_the_draft_no_more(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    before = graph.get_snapshot().get_record("requirements", ("r", "a"))
    edit(graph, record("requirements", role="r", competency="a", level=4), remove=(("competencies", ("c",)),))
    edit(graph, ("requirements", before), ("competencies", graph.get_snapshot().competencies["c"]))
    state = graph.drafts.get_state("d")
    assert state.pair.added == state.pair.removed == frozenset()
    assert state.snapshot == graph.get_snapshot()


def test_an_edit_that_changes_nothing_is_none(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, ("roles", graph.get_snapshot().roles["r"]))
    assert graph.drafts.get("d").number == 0


def test_what_others_change_meanwhile_is_seen_beside_the_draft(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("requirements", role="r", competency="a", level=3))
    publish(graph, record("requirements", role="r", competency="a", level=2, weight=5.0))
    publish(graph, record("competencies", id="b", label="Other label", scale="s5"))
    state = graph.drafts.get_state("d")
    found = state.snapshot.get_record("requirements", ("r", "a"))
    assert (found.level, found.weight) == (3, 5.0)
    assert state.snapshot.competencies["b"].label == "Other label"
    assert not state.conflicts
    assert state.snapshot.revision == 3


def test_both_sides_of_one_column_are_a_conflict_and_the_draft_is_shown(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("requirements", role="r", competency="a", level=3, remark="why"))
    publish(graph, record("requirements", role="r", competency="a", level=4))
    state = graph.drafts.get_state("d")
    assert state.snapshot.get_record("requirements", ("r", "a")).level == 3
    (conflict,) = state.conflicts
    assert (conflict.table, conflict.id, conflict.column) == ("requirements", "r~a", "level")
    assert (conflict.base, conflict.draft, conflict.published) == (2, 3, 4)
    assert (conflict.revision, conflict.who, conflict.why) == (2, "Other", "directly")


def test_a_record_removed_here_and_changed_there_is_a_conflict_of_the_whole(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("competencies", id="b", label="Mine", scale="s5"), remove=(("competencies", ("c",)),))
    publish(graph, record("competencies", id="c", label="Theirs", scale="s5"), remove=(("competencies", ("b",)),))
    state = graph.drafts.get_state("d")
    told = [(one.id, one.column, one.base, one.draft, one.published) for one in state.conflicts]
    present, before = graph.get_snapshot(), graph.past.get_snapshot(1, graph.get_snapshot())
    assert told == [
        ("b", None, before.competencies["b"], state.snapshot.competencies["b"], None),
        ("c", None, before.competencies["c"], None, present.competencies["c"]),
    ]


def test_a_second_edit_knows_what_others_published(graph: LiveGraph) -> None:
    """What the base says is asked for where others say something else: the base has no words for that."""
    graph.drafts.start("d", "A draft", who="Ana")
    publish(graph, record("roles", id="r", label="Theirs"), record("roles", id="q", label="Q"))
    edit(graph, record("roles", id="r", label="R"))
    state = graph.drafts.get_state("d")
    assert state.snapshot.roles["r"].label == "R"
    assert (state.draft.base, state.conflicts) == (2, ())
    edit(graph, remove=(("roles", ("q",)),))
    assert "q" not in graph.drafts.get_state("d").snapshot.roles


def test_an_edit_that_hangs_on_a_conflict_waits_for_it(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("requirements", role="r", competency="a", level=3))
    publish(graph, record("requirements", role="r", competency="a", level=4), record("roles", id="r", label="Theirs"))
    with pytest.raises(ConflictError, match="decide the 1 conflict"):
        edit(graph, record("roles", id="r", label="R"))
    edit(graph, record("roles", id="r", label="Third"), record("competencies", id="e", label="E", scale="s5"))
    assert [one.column for one in graph.drafts.get_state("d").conflicts] == ["label", "level"]
    edit(graph, record("requirements", role="r", competency="a", level=4))
    assert [one.column for one in graph.drafts.get_state("d").conflicts] == ["label"]


@pytest.mark.parametrize("side", ["draft", "published"])
def test_conflicts_are_decided_one_by_one(graph: LiveGraph, side: Any) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("requirements", role="r", competency="a", level=3), record("roles", id="r", label="Mine"))
    publish(graph, record("requirements", role="r", competency="a", level=4), record("roles", id="r", label="Theirs"))
    with pytest.raises(InputError, match="no conflict"):
        graph.drafts.rebase("d", {("roles", "r", None): side}, who="Ana")
    state = graph.drafts.rebase("d", {("roles", "r", "label"): side}, who="Ana")
    assert [one.column for one in state.conflicts] == ["level"]
    assert state.draft.base == 1
    assert state.snapshot.roles["r"].label == {"draft": "Mine", "published": "Theirs"}[side]
    state = graph.drafts.rebase("d", "published", who="Ana")
    assert (state.conflicts, state.draft.base, state.draft.number) == ((), 2, 3)
    assert state.snapshot.get_record("requirements", ("r", "a")).level == 4
    assert state.snapshot.roles["r"].label == {"draft": "Mine", "published": "Theirs"}[side]


def test_what_was_decided_is_open_again_when_it_is_changed_again(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("requirements", role="r", competency="a", level=3), record("roles", id="r", label="Mine"))
    publish(graph, record("requirements", role="r", competency="a", level=4), record("roles", id="r", label="Theirs"))
    graph.drafts.rebase("d", {("roles", "r", "label"): "draft"}, who="Ana")
    publish(graph, record("roles", id="r", label="Again"))
    assert [one.column for one in graph.drafts.get_state("d").conflicts] == ["label", "level"]


def test_what_cannot_be_is_refused(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    with pytest.raises(ConflictError):
        graph.drafts.start("d", "Again", who="Ana")
    for wrong in ({"draft_id": "~", "title": "T"}, {"draft_id": "e", "title": " "}):
        with pytest.raises(InputError):
            graph.drafts.start(**wrong, who="Ana")
    for base in ("99", "nothing", "2999-01-01"):
        with pytest.raises(InputError) as error:
            graph.drafts.start("e", "T", who="Ana", base=base)
        assert error.value.context["parameter"] == "base"
    for undone in ("0", "99", "nothing"):
        with pytest.raises(InputError) as error:
            graph.drafts.start("e", "T", who="Ana", undo_of=undone)
        assert error.value.context["parameter"] == "undo_of"
    with pytest.raises(InputError, match="not about people"):
        edit(graph, record("people", id="q", name="Q", role="r", team="t"))
    with pytest.raises(UnknownIdError):
        graph.drafts.get("e")
    with pytest.raises(UnknownIdError):
        edit(graph, remove=(("roles", ("q",)),))
    with pytest.raises(StaleError) as stale:
        graph.drafts.edit("d", Change(), who="Ana", why="w", expected_number=7)
    assert (stale.value.context["expected"], stale.value.context["present"]) == (7, 0)
    with pytest.raises(ConflictError):
        graph.drafts.delete("d")
    assert [draft.id for draft in graph.drafts.list_all()] == ["d"]


def test_a_withdrawn_draft_is_opened_again_or_deleted(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    edit(graph, record("roles", id="r", label="Mine"))
    assert graph.drafts.withdraw("d", who="Ana").state == "withdrawn"
    with pytest.raises(ConflictError):
        edit(graph, record("roles", id="r", label="Other"))
    assert graph.drafts.open("d", who="Ana").state == "open"
    assert graph.drafts.get_state("d").snapshot.roles["r"].label == "Mine"
    graph.drafts.withdraw("d", who="Ana")
    graph.drafts.delete("d", expected_number=1)
    assert graph.drafts.list_all() == []
    assert (
        graph.store.select(f"SELECT ?g WHERE {{ GRAPH ?g {{ ?s ?p ?o }} FILTER(CONTAINS(STR(?g), '{ns.DRAFT}')) }}")
        == []
    )
    assert graph.store.is_empty(ns.GRAPH_DRAFTS)


@pytest.mark.parametrize("limit", [3, 20_000])
def test_drafts_are_there_after_a_restart_large_and_small(tmp_path: Path, limit: int) -> None:
    graph = fill(LiveGraph.open(tmp_path / "store", create=True))
    with bulk_from(limit):
        graph.drafts.start("d", "A draft", who="Ana")
        edit(
            graph, *(record("roles", id=f"n{n}", label=f"N {n}") for n in range(5)), record("roles", id="r", label="M")
        )
        edit(graph, remove=(("roles", ("n4",)),))
    state = graph.drafts.get_state("d")
    graph.close()
    again = LiveGraph.open(tmp_path / "store")
    assert again.get_snapshot() == graph.get_snapshot()
    assert again.store.revision == 1
    found = again.drafts.get_state("d")
    assert (found.draft, found.pair) == (state.draft, state.pair)
    assert found.snapshot == state.snapshot
    assert list(found.snapshot.roles) == ["n0", "n1", "n2", "n3", "r"]
    again.close()


def test_no_edit_of_many_writers_is_lost_and_no_state_is_half_of_two(graph: LiveGraph) -> None:
    graph.drafts.start("d", "A draft", who="Ana")
    seen, is_over = [], threading.Event()

    def read() -> None:
        while not is_over.is_set():
            state = graph.drafts.get_state("d")
            seen.append((state.draft.number, sum(role.startswith("n") for role in state.snapshot.roles)))

    def write(writer: int) -> None:
        for n in range(6):
            if writer < 3:
                edit(graph, record("roles", id=f"n{writer}-{n}", label="New"))
            else:
                publish(graph, record("roles", id=f"p{n}", label="Published"))

    with ThreadPoolExecutor(6) as pool:
        readers = [pool.submit(read) for _ in range(2)]
        list(pool.map(write, range(4)))
        is_over.set()
        for reader in readers:
            reader.result()
    assert graph.drafts.get("d").number == 18
    assert seen
    assert all(number == n_roles for number, n_roles in seen)
    roles = graph.drafts.get_state("d").snapshot.roles
    assert len([role for role in roles if role.startswith("n")]) == 18
    assert len([role for role in roles if role.startswith("p")]) == 6
