"""A draft is published as a release in one commit, or not at all; a commit is taken back by a draft."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from drafted import edit, fill, publish, record
from edited_companies import bulk_from

from ontology.errors import (
    ConflictError,
    DraftConflictsError,
    FindingsError,
    InputError,
    NewelError,
    StaleError,
    UnknownIdError,
)
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.publishing import publish_draft
from ontology.rdf import namespaces as ns
from ontology.store.history import read_commits


@pytest.fixture
def graph() -> LiveGraph:
    graph = fill(LiveGraph.in_memory())
    graph.drafts.start("d", "A draft", who="Ana")
    return graph


def end(graph: LiveGraph, version: str = "1.1", **more: Any) -> Any:
    return publish_draft(graph, more.pop("draft_id", "d"), version, who="Ana", reason="as agreed", **more)


def count_draft_quads(graph: LiveGraph) -> int:
    query = f"SELECT ?s WHERE {{ GRAPH ?g {{ ?s ?p ?o }} FILTER(STRSTARTS(STR(?g), '{ns.DRAFT}')) }}"
    return len(graph.store.select(query))


def test_publishing_is_one_commit_with_its_release_and_the_end_of_the_draft(graph: LiveGraph) -> None:
    edit(graph, record("requirements", role="r", competency="a", level=3), remove=(("competencies", ("c",)),))
    shown = graph.drafts.get_state("d").snapshot
    release = end(graph, author="Council")
    assert graph.get_snapshot() == shown
    assert graph.store.revision == graph.get_snapshot().revision == 2
    assert (release.revision, release.author, release.why, release.from_draft) == (2, "Council", "as agreed", "d")
    assert graph.releases.get("1.1") == release
    ended = graph.drafts.get("d")
    assert (ended.state, ended.revision) == ("published", 2)
    assert count_draft_quads(graph) == 0
    last = read_commits(graph.store)[-1]
    assert (last.who, last.why) == ("Ana", "as agreed")
    with pytest.raises(ConflictError):
        end(graph, "1.2")
    with pytest.raises(ConflictError):
        edit(graph, record("roles", id="r", label="Later"))
    moment = graph.past.find_moment("1.1", graph.get_snapshot(), graph.store.get_today())
    assert moment.revision == 2


def test_all_that_stands_against_publishing_is_told_at_once(graph: LiveGraph) -> None:
    edit(graph, record("requirements", role="r", competency="a", level=9))
    publish(graph, record("requirements", role="r", competency="a", level=4))
    with pytest.raises(NewelError) as refused:
        publish_draft(graph, "d", "2027", who="Ana", reason=" ", issued=date(2999, 1, 1))
    found = refused.value.list_all()
    assert [one.context.get("parameter") for one in found] == ["version", "reason", "date", None, None]
    assert [type(one) for one in found[3:]] == [DraftConflictsError, FindingsError]
    assert graph.store.revision == 2


def test_what_cannot_be_published_stays_as_it_was(graph: LiveGraph) -> None:
    with pytest.raises(ConflictError, match="changes nothing"):
        end(graph)
    edit(graph, record("requirements", role="r", competency="a", level=3))
    publish(graph, record("requirements", role="r", competency="a", level=4))
    with pytest.raises(DraftConflictsError) as clash:
        end(graph)
    assert [(one.table, one.id, one.column) for one in clash.value.conflicts] == [("requirements", "r~a", "level")]
    with pytest.raises(StaleError):
        end(graph, expected_number=7)
    graph.drafts.rebase("d", "published", who="Ana")
    with pytest.raises(ConflictError, match="changes nothing"):
        end(graph)
    assert graph.store.revision == 2
    assert graph.releases.list_all() == []
    assert graph.drafts.get("d").state == "open"


def test_errors_are_told_whole_and_nothing_is_stored(graph: LiveGraph) -> None:
    edit(
        graph,
        record("requirements", role="r", competency="zz", level=3),
        record("requirements", role="r", competency="b", level=9),
        remove=(("competencies", ("a",)), ("roles", ("r",))),
    )
    with pytest.raises(FindingsError) as found:
        end(graph)
    told = {finding.about for finding in found.value.findings if finding.severity == "error"}
    assert told == {
        ("requirements", "r", "a"),
        ("requirements", "r", "b"),
        ("requirements", "r", "zz"),
        ("people", "p"),
    }
    errors = graph.drafts.find_errors("d")
    assert set(errors) == {one for one in graph.drafts.find_findings("d") if one.severity == "error"}
    assert {one.about for one in errors} == told
    assert graph.store.revision == 1


def test_a_competency_in_use_keeps_its_scale(graph: LiveGraph) -> None:
    levels = tuple(record("scales", scale="q", rank=rank, label=f"Q {rank}") for rank in range(1, 6))
    graph.apply(Change(put=levels), who="x", why="w")
    edit(graph, record("competencies", id="a", label="A", scale="q"))
    with pytest.raises(FindingsError, match="1 error"):
        end(graph)


def test_what_is_replaced_is_not_held_against_what_replaces_it(graph: LiveGraph) -> None:
    """With relations of others the conditions of SKOS are checked over all that is said after the change."""
    a, b = (f"<{ns.ID}competency/{name}>" for name in "ab")
    graph.load({}, [(ns.GRAPH_FRAMEWORK, a, f"<{ns.SKOS}related>", b)], who="x", why="related")
    publish(graph, record("competencies", id="a", label="Renamed", scale="s5"))
    edit(graph, record("competencies", id="b", label="Renamed, too", scale="s5"))
    assert not graph.drafts.find_errors("d")
    end(graph)
    graph.drafts.start("u", "Back", who="Ana", undo_of="2")
    end(graph, "1.2", draft_id="u")
    assert (ns.GRAPH_FRAMEWORK, a, f"<{ns.SKOS}related>", b) not in set(graph.store.read_graph(ns.GRAPH_FRAMEWORK))


@pytest.mark.parametrize("version", ["", "12", "2026-11-24", "now", "a~b", "-x"])
def test_a_version_cannot_be_taken_for_another_state(graph: LiveGraph, version: str) -> None:
    with pytest.raises(InputError) as wrong:
        graph.releases.name_present(version, who="Ana", reason="r")
    assert wrong.value.context["parameter"] == "version"


def test_the_present_state_is_named_without_a_commit(graph: LiveGraph) -> None:
    today = graph.store.get_today()
    day = today - timedelta(days=9)
    release = graph.releases.name_present("1.0", who="Ana", reason="first", issued=day)
    assert (release.revision, release.issued, release.author) == (1, day, "Ana")
    assert graph.store.revision == 1
    assert graph.past.find_moment("1.0", graph.get_snapshot(), today).revision == 1
    assert [one.version for one in graph.releases.list_all()] == ["1.0"]
    with pytest.raises(ConflictError):
        graph.releases.name_present("1.0", who="Ana", reason="again")
    with pytest.raises(InputError) as wrong:
        graph.releases.name_present("1.1", who="Ana", reason="r", issued=today + timedelta(days=1))
    assert wrong.value.context["parameter"] == "date"
    with pytest.raises(InputError):
        graph.releases.name_present("1.1", who="Ana", reason=" ")
    with pytest.raises(UnknownIdError):
        graph.releases.get("9.9")
    with pytest.raises(ConflictError):
        LiveGraph.in_memory().releases.name_present("1.0", who="Ana", reason="r")


def test_a_published_draft_is_taken_back_by_another_and_that_one_too(graph: LiveGraph) -> None:
    before = graph.get_snapshot()
    edit(
        graph,
        record("requirements", role="r", competency="a", level=3),
        record("competencies", id="e", label="E", scale="s5"),
        record("scales", scale="s5", rank=6, label="Level 6"),
        remove=(("competencies", ("c",)),),
    )
    end(graph)
    after = graph.get_snapshot()
    undo = graph.drafts.start("u", "Back", who="Ana", undo_of="1.1")
    assert (undo.base, undo.undo_of) == (2, 2)
    publish(graph, record("people", id="p", name="Renamed", role="r", team="t"))
    end(graph, "1.2", draft_id="u")
    assert graph.get_snapshot().people["p"].name == "Renamed"
    back = graph.get_snapshot().with_changes(put=(("people", before.people["p"]),))
    assert back == before
    graph.drafts.start("uu", "Again", who="Ana", undo_of="1.2")
    end(graph, "1.3", draft_id="uu")
    assert graph.get_snapshot().with_changes(put=(("people", before.people["p"]),)) == after


def test_what_holds_nothing_to_take_back_is_refused(graph: LiveGraph) -> None:
    publish(graph, record("people", id="p", name="Renamed", role="r", team="t"))
    with pytest.raises(ConflictError, match="nothing that a draft can take back"):
        graph.drafts.start("u", "Back", who="Ana", undo_of="2")
    graph.releases.name_present("named", who="Ana", reason="r")
    with pytest.raises(InputError, match="not made from a draft"):
        graph.drafts.start("u", "Back", who="Ana", undo_of="named")


@pytest.mark.parametrize("limit", [5, 20_000])
def test_releases_and_ends_are_there_after_a_restart(tmp_path: Path, limit: int) -> None:
    graph = fill(LiveGraph.open(tmp_path / "store", create=True))
    graph.drafts.start("d", "A draft", who="Ana")
    with bulk_from(limit):
        edit(
            graph, *(record("roles", id=f"n{n}", label=f"N {n}") for n in range(5)), remove=(("competencies", ("c",)),)
        )
        end(graph)
    assert read_commits(graph.store)[-1].is_bulk == (limit == 5)
    graph.close()
    again = LiveGraph.open(tmp_path / "store")
    assert again.get_snapshot() == graph.get_snapshot()
    assert [one.version for one in again.releases.list_all()] == ["1.1"]
    assert again.drafts.get("d").state == "published"
    assert count_draft_quads(again) == 0
    assert "c" in again.past.get_snapshot(1, again.get_snapshot()).competencies
    again.close()


def test_a_release_dated_by_hand_changes_no_day(graph: LiveGraph) -> None:
    edit(graph, record("roles", id="r", label="Mine"))
    end(graph, issued=date(2020, 1, 1))
    today = graph.store.get_today()
    with pytest.raises(InputError):
        graph.past.find_moment("2020-01-01", graph.get_snapshot(), today)
    assert graph.past.find_moment(today.isoformat(), graph.get_snapshot(), today).revision == 2
