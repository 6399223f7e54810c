"""The European Qualifications Framework as an ordered scale: eight levels (Council Recommendation 2017/C 189/03).

The SKOS file is made from the Commission's controlled list of EQF levels; an invented scheme always runs.
CEFR levels: Council of Europe, Common European Framework of Reference for Languages (2001).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from small_company import NO_REFERENCE, REFERENCE

from api.app import create_app
from loaders.linked_data.linked_data import load_linked_data
from ontology.checks.framework import check_framework
from ontology.checks.skos import check_skos
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

FILE = REFERENCE / "eqf.ttl"
SCHEME = "http://data.europa.eu/snb/eqf/25831c2"
needs_file = pytest.mark.skipif(not FILE.is_file(), reason=NO_REFERENCE)

SKOS_PREFIX = f"@prefix skos: <{ns.SKOS}> .\n"


def write_scheme(path: Path, notations: list[str]) -> Path:
    text = SKOS_PREFIX + "<http://own.example/steps> a skos:ConceptScheme .\n"
    for number, notation in enumerate(notations):
        text += (
            f"<http://own.example/n{number}> a skos:Concept ; skos:topConceptOf <http://own.example/steps> ; "
            f'skos:notation "{notation}" ; skos:prefLabel "Step {notation}"@en .\n'
        )
    path.write_text(text, encoding="utf-8")
    return path


@needs_file
def test_eqf_is_a_scale_of_eight_levels_in_order() -> None:
    loaded = load_linked_data(FILE, SCHEME)
    assert loaded.findings == []
    levels = loaded.records["scales"]
    assert [(level.scale, level.rank, level.label) for level in levels] == [
        ("25831c2", rank, f"Level {rank}") for rank in range(1, 9)
    ]


@needs_file
def test_each_eqf_level_keeps_its_official_concept() -> None:
    extra = load_linked_data(FILE, SCHEME).extra
    exact = {(s, o) for _, s, p, o in extra if p == f"<{ns.SKOS}exactMatch>"}
    assert exact == {
        (f"<{ns.ID}level/25831c2~{rank}>", f"<http://data.europa.eu/snb/eqf/{rank}>") for rank in range(1, 9)
    }


@needs_file
def test_eqf_goes_into_a_store_without_a_finding() -> None:
    loaded = load_linked_data(FILE, SCHEME)
    graph = LiveGraph.in_memory()
    graph.load(loaded.records, loaded.extra, who="test", why="EQF")
    assert [level.rank for level in graph.get_snapshot().scales["25831c2"]] == list(range(1, 9))
    assert check_framework(graph.get_snapshot()) == []
    assert check_skos(graph.store.read_graph(ns.GRAPH_FRAMEWORK)) == []


@needs_file
def test_levels_of_an_own_scale_show_the_eqf_level_they_are_mapped_to() -> None:
    loaded = load_linked_data(FILE, SCHEME)
    graph = LiveGraph.in_memory()
    graph.load(loaded.records, loaded.extra, who="test", why="the EQF")
    steps = [TABLES["scales"].build(scale="craft", rank=rank, label=f"Step {rank}") for rank in (1, 2, 3)]
    # which level a step is comes from its maker; here any that never falls
    ranks = [
        TABLES["level_maps"].build(from_scale="craft", from_rank=rank, to_scale="25831c2", to_rank=to)
        for rank, to in ((1, 0), (2, 3), (3, 4))
    ]
    graph.load({"scales": steps, "level_maps": ranks}, who="test", why="steps of our own")
    client = create_app(graph).test_client()
    told = client.get("/api/scales/craft").json
    assert [level["counts_as"] for level in told["levels"]] == [[{"scale": "25831c2", "rank": to}] for to in (0, 3, 4)]
    page = client.get("/scales/craft").text
    assert all(words in page for words in ("Counts on scale 25831c2 as", "Level 3", "Level 4", "0, below the first"))
    assert client.put("/api/scales/craft", json=told, headers={"If-Match": "*"}).status_code == 200


@needs_file
def test_eqf_without_a_scale_is_kept_as_concepts_only() -> None:
    loaded = load_linked_data(FILE)
    assert loaded.records == {}
    assert len(loaded.extra) == 8 * 5 + 1


def test_numeric_notations_are_ordered_as_numbers(tmp_path: Path) -> None:
    path = write_scheme(tmp_path / "steps.ttl", ["10", "9", "1", "2.5"])
    levels = load_linked_data(path, "http://own.example/steps").records["scales"]
    assert [level.label for level in levels] == ["Step 1", "Step 2.5", "Step 9", "Step 10"]
    assert {level.scale for level in levels} == {"steps"}


def test_cefr_notations_are_ordered_as_text(tmp_path: Path) -> None:
    path = write_scheme(tmp_path / "languages.ttl", ["C1", "A2", "B2", "A1", "C2", "B1"])
    levels = load_linked_data(path, "<http://own.example/steps>").records["scales"]
    assert [level.label.removeprefix("Step ") for level in levels] == ["A1", "A2", "B1", "B2", "C1", "C2"]


def test_two_concepts_with_one_notation_make_no_scale(tmp_path: Path) -> None:
    loaded = load_linked_data(write_scheme(tmp_path / "steps.ttl", ["1", "2", "2"]), "http://own.example/steps")
    assert [(finding.severity, finding.value) for finding in loaded.findings] == [("error", "2")]
    assert "scales" not in loaded.records


def test_concept_without_a_notation_is_named(tmp_path: Path) -> None:
    path = write_scheme(tmp_path / "steps.ttl", ["1", "2"])
    with path.open("a", encoding="utf-8") as handle:
        handle.write("<http://own.example/bare> skos:inScheme <http://own.example/steps> .\n")
    (finding,) = load_linked_data(path, "http://own.example/steps").findings
    assert "http://own.example/bare has no notations" in finding.reason


def test_unknown_scheme_is_told_with_those_that_are_there(tmp_path: Path) -> None:
    (finding,) = load_linked_data(write_scheme(tmp_path / "steps.ttl", ["1"]), "http://own.example/other").findings
    assert finding.severity == "error"
    assert "http://own.example/steps" in finding.reason
