"""Frameworks of others: replaced whole, kept in backups, never part of the own one; a killed load leaves the old."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from ontology.errors import FileFormatError, InputError, NotFoundError
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.outside import OutsideFrameworks
from ontology.model.tables import TABLES
from ontology.store.backups import backup_store, restore_store
from ontology.store.outside_folders import OUTSIDE, begin_outside


def fill(*labels: str) -> Callable[[LiveGraph], int]:
    """Return what fills a graph with a scale and a competency for each label."""

    def put(graph: LiveGraph) -> int:
        build = TABLES["competencies"].build
        rows = [("scales", TABLES["scales"].build(scale="s", rank=1, label="able"))]
        rows += [("competencies", build(id=f"c{n}", label=label, scale="s")) for n, label in enumerate(labels)]
        return graph.apply(Change(put=tuple(rows)), who="t", why="a framework").revision

    return put


def get_labels(frameworks: OutsideFrameworks[LiveGraph], outside_id: str) -> list[str]:
    return [one.label for one in frameworks.get(outside_id).snapshot.competencies.values()]


@pytest.fixture(params=["disk", "memory"])
def graph(request: pytest.FixtureRequest, tmp_path: Path) -> LiveGraph:
    return LiveGraph.open(tmp_path / "store", create=True) if request.param == "disk" else LiveGraph.in_memory()


def test_it_is_replaced_whole_and_the_own_framework_never_holds_it(graph: LiveGraph) -> None:
    graph.outside.replace("theirs", fill("Pumps", "Valves"))
    first = graph.outside.get("theirs")
    graph.outside.replace("theirs", fill("Gates"))
    second = graph.outside.get("theirs")
    assert get_labels(graph.outside, "theirs") == ["Gates"]
    assert first.snapshot.store_id != second.snapshot.store_id
    assert (second.counts, second.tables) == ({"scales": 1, "competencies": 1}, {"scales", "competencies"})
    assert graph.outside.list_ids() == ["theirs"]
    assert not graph.get_snapshot().competencies
    graph.outside.remove("theirs")
    assert graph.outside.list_ids() == []
    with pytest.raises(NotFoundError):
        graph.outside.get("theirs")
    with pytest.raises(NotFoundError):
        graph.outside.remove("theirs")
    graph.close()


def test_what_speaks_of_teams_or_people_is_refused_and_the_old_one_stays(graph: LiveGraph) -> None:
    graph.outside.replace("theirs", fill("Pumps"))

    def put_team(other: LiveGraph) -> None:
        other.apply(Change(put=(("teams", TABLES["teams"].build(id="t", label="T")),)), who="t", why="w")

    with pytest.raises(InputError, match=r"competencies, roles and courses alone; here are teams"):
        graph.outside.replace("theirs", put_team)
    for wrong in ("", "_x", "a b", "../x", "x" * 201):
        with pytest.raises(InputError, match="is no id"):
            graph.outside.replace(wrong, fill("Pumps"))
    assert get_labels(graph.outside, "theirs") == ["Pumps"]
    assert graph.outside.list_ids() == ["theirs"]
    graph.close()


def test_another_process_that_replaces_it_is_noticed(tmp_path: Path) -> None:
    with_server = LiveGraph.open(tmp_path / "store", create=True)
    with_server.outside.replace("theirs", fill("Pumps"))
    assert get_labels(with_server.outside, "theirs") == ["Pumps"]
    OutsideFrameworks(tmp_path / "store", LiveGraph).replace("theirs", fill("Valves"))
    assert get_labels(with_server.outside, "theirs") == ["Valves"]
    with_server.close()


def test_what_a_killed_load_leaves_is_no_framework_and_goes_with_the_next(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    graph.outside.replace("theirs", fill("Pumps"))
    half = LiveGraph.open(begin_outside(tmp_path / "store", "theirs"), create=True)
    fill("Half")(half)
    half.close()  # killed here: nothing has taken its place
    assert graph.outside.list_ids() == ["theirs"]
    assert get_labels(graph.outside, "theirs") == ["Pumps"]
    graph.outside.replace("theirs", fill("Valves"))
    assert [path.name for path in (tmp_path / "store" / OUTSIDE).iterdir()] == ["theirs"]
    assert get_labels(graph.outside, "theirs") == ["Valves"]
    graph.close()


def test_backups_hold_them_and_a_damaged_copy_changes_nothing(tmp_path: Path) -> None:
    store, backup = tmp_path / "store", tmp_path / "backup"
    graph = LiveGraph.open(store, create=True)
    fill("Own")(graph)
    graph.outside.replace("theirs", fill("Pumps"))
    graph.close()
    backup_store(store, backup)
    graph = LiveGraph.open(store)
    graph.outside.replace("theirs", fill("Valves"))
    graph.outside.replace("new", fill("New"))
    graph.close()

    damaged = tmp_path / "damaged"
    shutil.copytree(backup, damaged)
    file = next((damaged / OUTSIDE / "theirs").glob("generation-*/*.log"))
    file.write_bytes(file.read_bytes() + b"x")
    with pytest.raises(FileFormatError, match="is damaged"):
        restore_store(damaged, store)
    assert get_labels(OutsideFrameworks(store, LiveGraph), "theirs") == ["Valves"]

    restore_store(backup, store)
    frameworks = OutsideFrameworks(store, LiveGraph)
    assert frameworks.list_ids() == ["theirs"]
    assert get_labels(frameworks, "theirs") == ["Pumps"]
