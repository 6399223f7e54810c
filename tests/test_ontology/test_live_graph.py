"""The live graph: what is put comes back, what is refused leaves everything as it was."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from companies import build_company

from ontology.errors import ConflictError, FindingsError, StaleError, UnknownIdError
from ontology.live import live_graph
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def make_graph(seed: int = 1) -> LiveGraph:
    graph = LiveGraph.in_memory()
    graph.load(build_company(seed), who="test", why="start")
    return graph


def put(table: str, **values: Any) -> Change:
    return Change(put=((table, TABLES[table].build(**values)),))


def require_unchanged(graph: LiveGraph, revision: int, before: Snapshot) -> None:
    assert graph.store.revision == revision
    assert graph.get_snapshot() == before
    assert compile_snapshot(graph.store) == before


def test_what_was_loaded_is_compiled_again_from_the_store() -> None:
    graph = make_graph()
    assert compile_snapshot(graph.store) == graph.get_snapshot()
    assert graph.get_snapshot().revision == 1


def test_a_put_raises_the_revision_and_the_old_snapshot_stays_as_it_was() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    applied = graph.apply(put("roles", id="new", label="New"), who="test", why="more")
    assert applied.revision == 2
    assert "new" in graph.get_snapshot().roles
    assert "new" not in before.roles
    assert compile_snapshot(graph.store) == graph.get_snapshot()


def test_replacing_removes_what_the_new_record_no_longer_says() -> None:
    graph = make_graph()
    graph.apply(put("roles", id="new", label="New", family="f", months_to_full=3), who="t", why="w")
    graph.apply(put("roles", id="new", label="Newer"), who="t", why="w")
    assert compile_snapshot(graph.store).roles["new"] == TABLES["roles"].build(id="new", label="Newer")


def test_putting_the_same_record_again_is_no_new_revision() -> None:
    graph = make_graph()
    record = next(iter(graph.get_snapshot().roles.values()))
    assert graph.apply(Change(put=(("roles", record),)), who="t", why="w").revision == 1


def test_an_unknown_id_is_refused_and_nothing_changes() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    with pytest.raises(FindingsError) as caught:
        graph.apply(put("requirements", role="nowhere", competency="c0", level=1), who="t", why="w")
    assert "nowhere" in " ".join(finding.format() for finding in caught.value.findings)
    require_unchanged(graph, 1, before)


def test_a_level_outside_its_scale_is_refused() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    with pytest.raises(FindingsError):
        graph.apply(put("requirements", role="r0", competency="c0", level=99), who="t", why="w")
    require_unchanged(graph, 1, before)


def test_a_record_that_others_refer_to_cannot_be_removed() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    with pytest.raises(ConflictError, match="referred to by requirements r0~"):
        graph.apply(Change(remove=(("roles", ("r0",)),)), who="t", why="w")
    require_unchanged(graph, 1, before)


def test_a_record_can_go_together_with_what_refers_to_it() -> None:
    graph = make_graph()
    graph.apply(put("roles", id="new", label="New"), who="t", why="w")
    graph.apply(put("requirements", role="new", competency="c0", level=1), who="t", why="w")
    graph.apply(Change(remove=(("requirements", ("new", "c0")), ("roles", ("new",)))), who="t", why="w")
    assert "new" not in compile_snapshot(graph.store).roles


def test_removing_a_level_that_is_in_use_is_refused() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    top = max(level.rank for level in before.scales["held"])
    with pytest.raises((FindingsError, ConflictError)):
        graph.apply(Change(remove=(("scales", ("held", top)),)), who="t", why="w")
    require_unchanged(graph, 1, before)


def test_a_scale_stays_an_ordered_list_when_it_grows() -> None:
    graph = make_graph()
    n = len(graph.get_snapshot().scales["craft"])
    graph.apply(put("scales", scale="craft", rank=n + 1, label="Top"), who="t", why="w")
    rows = graph.store.select(
        "PREFIX rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> PREFIX skos: <http://www.w3.org/2004/02/skos/core#> "
        "SELECT ?m WHERE { GRAPH <https://newel.example/graph/framework> { "
        "<https://newel.example/id/scale/craft> skos:memberList/rdf:rest*/rdf:first ?m } }"
    )
    assert sorted(row[0].rsplit("~", 1)[1] for row in rows) == [str(i) for i in range(1, n + 2)]


def test_a_stale_revision_is_refused() -> None:
    graph = make_graph()
    with pytest.raises(StaleError):
        graph.apply(put("roles", id="n", label="N"), who="t", why="w", expected_revision=0)


def test_removing_an_unknown_record_is_an_error() -> None:
    graph = make_graph()
    with pytest.raises(UnknownIdError):
        graph.apply(Change(remove=(("roles", ("nowhere",)),)), who="t", why="w")


def test_the_precondition_sees_the_present_state_inside_the_lock() -> None:
    graph = make_graph()
    graph.apply(put("courses", id="tally", label="0", hours=1), who="t", why="w")

    def add_one() -> None:
        for _ in range(10):
            while True:
                label = graph.get_snapshot().courses["tally"].label

                def require(present: Snapshot, label: str = label) -> None:
                    if present.courses["tally"].label != label:
                        raise StaleError("changed since")

                try:
                    change = put("courses", id="tally", label=str(int(label) + 1), hours=1)
                    graph.apply(change, who="t", why="w", require=require)
                    break
                except StaleError:
                    continue

    threads = [threading.Thread(target=add_one) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert graph.get_snapshot().courses["tally"].label == "40"


def test_a_trial_load_checks_and_stores_nothing() -> None:
    graph = LiveGraph.in_memory()
    applied = graph.load(build_company(2), who="t", why="w", is_trial=True)
    assert applied.revision == 0
    assert graph.store.revision == 0
    assert not graph.get_snapshot().roles


def test_a_graph_survives_on_disk(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "s", create=True)
    graph.load(build_company(3), who="t", why="w")
    before = graph.get_snapshot()
    graph.close()
    again = LiveGraph.open(tmp_path / "s")
    assert again.get_snapshot() == before
    assert again.get_snapshot().revision == 1
    again.close()


def test_a_change_overtaken_by_another_writer_is_refused_and_the_next_one_sees_their_state() -> None:
    graph = make_graph()
    other = LiveGraph(graph.store)
    other.apply(put("roles", id="theirs", label="Theirs"), who="other", why="w")
    for _ in range(2):
        try:
            graph.apply(put("roles", id="mine", label="Mine"), who="t", why="w")
        except StaleError:
            continue
        break
    assert {"theirs", "mine"} <= set(graph.get_snapshot().roles)
    assert compile_snapshot(graph.store) == graph.get_snapshot()


def test_names_of_a_large_load_are_indexed_before_anyone_searches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live_graph, "CACHE_FROM", 1)
    assert "names_of_roles" in vars(make_graph().get_snapshot())


def test_of_a_record_that_is_put_twice_the_last_one_counts_in_the_store_too() -> None:
    graph = make_graph()
    scale = next(iter(graph.get_snapshot().competencies.values())).scale
    build = TABLES["competencies"].build
    both = [build(id="new", label="New", scale=scale, alt_labels=(name,)) for name in ("one", "two")]
    graph.apply(Change(put=tuple(("competencies", record) for record in both)), who="t", why="w")
    assert graph.get_snapshot().competencies["new"].alt_labels == ("two",)
    assert compile_snapshot(graph.store) == graph.get_snapshot()
