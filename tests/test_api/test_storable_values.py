"""Whatever the API stores can be exported as tables and loaded again: what a cell cannot hold is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from api.app import create_app
from loaders.pipeline import load_paths
from loaders.tables.table_writers import export_csv, export_workbook
from ontology.live.live_graph import LiveGraph
from ontology.rdf.namespaces import DATA_GRAPHS, Quad


@pytest.fixture
def graph(tmp_path: Path) -> LiveGraph:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "scales.csv").write_text("scale,rank,label\ns,1,One\n")
    graph = LiveGraph.in_memory()
    load_paths(graph, [tmp_path / "in"])
    return graph


def read_all(graph: LiveGraph) -> set[Quad]:
    return {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}


@pytest.mark.parametrize(
    ("change", "pointer", "words"),
    [
        ({"id": "w" * 40_000}, "/id", "characters"),
        ({"label": "x" * 40_000}, "/label", "40,000 characters"),
        ({"label": "#REF!"}, "/label", "failed formula"),
        ({"alt_labels": ["y" * 20_000, "z" * 20_000]}, "/alt_labels", "40,001 characters"),
        ({"exact_match": ["http://a/\u00a0b"]}, "/exact_match/0", "absolute IRI"),
    ],
)
def test_a_value_that_no_cell_holds_is_refused_and_nothing_is_stored(
    change: dict[str, Any], pointer: str, words: str, graph: LiveGraph
) -> None:
    revision = graph.store.revision
    body = {"id": "q", "label": "Q", "scale": "s"} | change
    answer = create_app(graph).test_client().post("/api/competencies", json=body)
    assert answer.status_code == 422
    (error,) = answer.get_json()["errors"]
    assert error["pointer"] == pointer
    assert words in error["reason"]
    assert graph.store.revision == revision


def test_a_number_of_thousands_of_digits_is_told_in_our_words(graph: LiveGraph) -> None:
    body = b'{"id": "q", "label": "Q", "scale": "s", "validity_months": ' + b"1" * 5_000 + b"}"
    answer = create_app(graph).test_client().post("/api/competencies", data=body, content_type="application/json")
    assert answer.status_code == 400
    assert "a number has 5,000 digits" in answer.get_json()["detail"]


def test_texts_lose_the_blanks_around_them_as_cells_do_and_come_back(graph: LiveGraph, tmp_path: Path) -> None:
    body = {
        "id": "q",
        "label": " Q\t",
        "scale": "s",
        "alt_labels": [" a ", "a|b", "\u00a0=1+1\n"],
        "definition": " \n ",
    }
    answer = create_app(graph).test_client().post("/api/competencies", json=body)
    assert answer.status_code == 201
    stored = answer.get_json()
    assert (stored["label"], stored["definition"]) == ("Q", "")
    assert set(stored["alt_labels"]) == {"a", "a|b", "=1+1"}
    export_csv(graph.get_snapshot(), tmp_path / "out")
    export_workbook(graph.get_snapshot(), tmp_path / "out.xlsx")
    for name in ("out", "out.xlsx"):
        again = LiveGraph.in_memory()
        load_paths(again, [tmp_path / name])
        assert read_all(again) == read_all(graph)
