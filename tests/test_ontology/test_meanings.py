"""Recorded levels keep their meaning: what a change of a scale or of a competency's scale would do to them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from small_company import ON, build_snapshot

from loaders.pipeline import load_paths
from loaders.tables.table_writers import export_csv
from ontology.checks.meanings import MeaningChange, find_meaning_changes
from ontology.errors import ConflictError, FindingsError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

LABELS = ("Shown", "Assisted", "Independent", "Guides")


def make_levels(*labels: str, scale: str = "craft") -> list[dict[str, Any]]:
    return [{"scale": scale, "rank": rank, "label": label} for rank, label in enumerate(labels, start=1)]


def build(*ranks: int, **more: Any) -> Snapshot:
    """Return a company whose people have been seen at these ranks of the one competency on scale craft."""
    return build_snapshot(
        scales=[*make_levels(*LABELS), *make_levels(*LABELS, scale="twin")],
        competencies=[{"id": "weld", "label": "Welding", "scale": "craft"}],
        people=[{"id": f"p{rank}", "name": "Ada"} for rank in ranks],
        assessments=[
            {"person": f"p{rank}", "competency": "weld", "level": rank, "date": ON, "source": "assessor"}
            for rank in ranks
        ],
        **more,
    )


def change_scale(present: Snapshot, *labels: str) -> list[MeaningChange]:
    put = [("scales", TABLES["scales"].build(**level)) for level in make_levels(*labels)]
    remove = [("scales", key) for key in present.get_table("scales") if key[0] == "craft" and key[1] > len(labels)]
    return find_meaning_changes(present, present.with_changes(put, remove), put, remove)


@pytest.mark.parametrize(
    ("labels", "ranks"),
    [
        (("Shown", "Assisted", "Independent", "Guides", "Leads"), (1, 2, 3, 4)),  # one more at the top
        (("Shown", "Assisted", "Independent"), (1, 2, 3)),  # the top goes, nobody is there
        (("Shown", "With help", "On their own", "Guides"), (2, 3)),  # reworded where they stand
        (("shown", "Assisted ", "INDEPENDENT", "Guides"), (1, 2, 3)),
        (("Shown", "Assisted", "Independent", "Checks", "Guides"), (1, 2, 3)),  # moves what nobody holds
        (("Guides", "Independent", "Assisted", "Shown"), ()),  # nothing is recorded at all
        (("Guides", "Independent", "Assisted", "Shown"), (0,)),  # level 0 is on no rank
    ],
)
def test_a_scale_may_change_what_nothing_is_recorded_on(labels: tuple[str, ...], ranks: tuple[int, ...]) -> None:
    assert change_scale(build(*ranks), *labels) == []


@pytest.mark.parametrize(
    ("labels", "ranks", "fault", "users"),
    [
        (("Shown", "Watched", "Assisted", "Independent", "Guides"), (1, 3), ("3", "Assisted"), ["p3"]),
        (("Shown", "Watched", "Assisted", "Independent", "Guides"), (2, 3), ("2", "Watched"), ["p2", "p3"]),
        (("Shown", "Assisted", "Guides"), (3,), ("3", "Guides"), ["p3"]),
        (("Shown", "Assisted", "Independent"), (1, 4), ("4", "Guides"), ["p4"]),
        (("Assisted", "Shown", "Independent", "Guides"), (1,), ("1", "Assisted"), ["p1"]),
        (("Shown", "Assisted", "Guides", "Leads"), (3,), ("3", "Guides"), ["p3"]),
        (("Shown", "Assisted", "Independent", "Independent"), (3,), ("4", "Independent"), ["p3"]),
    ],
)
def test_a_recorded_rank_keeps_its_label_to_itself(
    labels: tuple[str, ...], ranks: tuple[int, ...], fault: tuple[str, str], users: list[str]
) -> None:
    (change,) = change_scale(build(*ranks), *labels)
    assert (change.about, change.value) == (("scales", "craft", fault[0]), fault[1])
    assert [key.split("~")[0] for _, key in change.uses] == users


def test_entry_and_unsupervised_levels_are_recorded_too() -> None:
    asked = {"role": "op", "competency": "weld", "level": 4, "entry_level": 2, "unsupervised_level": 4}
    present = build(roles=[{"id": "op", "label": "Operator"}], requirements=[asked])
    (change,) = change_scale(present, "Shown", "Watched", "Independent", "Guides", "Assisted")
    assert change.uses == (("requirements", "op~weld"),)


def test_another_scale_of_a_competency_is_refused_once_levels_are_recorded() -> None:
    moved = TABLES["competencies"].build(id="weld", label="Welding", scale="twin")
    put = [("competencies", moved)]
    for ranks, expected in (((), []), ((3,), [("competencies", "weld")])):
        present = build(*ranks)
        found = find_meaning_changes(present, present.with_changes(put), put, [])
        assert [change.about for change in found] == expected


def test_levels_that_go_in_the_same_change_hold_nothing_up() -> None:
    present = build(3)
    put = [("competencies", TABLES["competencies"].build(id="weld", label="Welding", scale="twin"))]
    remove = [("assessments", key) for key in present.get_table("assessments")]
    assert find_meaning_changes(present, present.with_changes(put, remove), put, remove) == []


def make_graph(*ranks: int) -> LiveGraph:
    graph = LiveGraph.in_memory()
    records: dict[str, list[Any]] = {}
    for name, record in build(*ranks).iterate_records():
        records.setdefault(name, []).append(record)
    graph.load(records, who="t", why="w")
    return graph


def test_a_put_is_a_conflict_that_names_what_is_recorded() -> None:
    graph = make_graph(3)
    levels = [TABLES["scales"].build(**level) for level in make_levels("Shown", "Watched", "Assisted", "Independent")]
    with pytest.raises(ConflictError) as caught:
        graph.apply(Change(put=tuple(("scales", level) for level in levels)), who="t", why="w")
    assert caught.value.context["referrers"] == [f"assessments/p3~weld~{ON}~assessor~~3"]
    assert "Independent would move from level 3 to level 4" in caught.value.detail
    assert graph.store.revision == 1


def test_a_load_is_refused_at_the_row_even_where_it_says_all_levels_again(tmp_path: Path) -> None:
    """Whoever inserts a level in an exported workbook and loads it has every record as it was, and means another."""
    graph = make_graph(2, 3)
    export_csv(graph.get_snapshot(), tmp_path)
    rows = (tmp_path / "scales.csv").read_text().replace("craft,2,", "craft,2,Watched,\ncraft,3,").splitlines()
    rows = [row.replace("craft,3,Ind", "craft,4,Ind").replace("craft,4,Gui", "craft,5,Gui") for row in rows]
    (tmp_path / "scales.csv").write_text("\n".join(rows) + "\n")
    with pytest.raises(FindingsError) as caught:
        load_paths(graph, [tmp_path])
    (error,) = caught.value.findings
    assert (error.source, error.row, error.column, error.value) == ("scales.csv", 3, "label", "Watched")
    assert graph.store.revision == 1
    report = load_paths(graph, [tmp_path], skip_faulty=True)
    assert [level.label for level in graph.get_snapshot().scales["craft"]] == list(LABELS)
    assert report.n_skipped == 5
