"""Linked data out: each format loads again to the same store, and the same content gives the same bytes."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from rdflib import RDF, SKOS, Graph
from rdflib.compare import isomorphic
from small_company import build_competencies, build_scale, build_snapshot

from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES, load_linked_data
from loaders.linked_data.writer import export_linked_data
from ontology.errors import FileFormatError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import build_graph

LABEL = f"<{ns.SKOS}prefLabel>"


def build_rows() -> dict[str, list[dict[str, Any]]]:
    return {
        "scales": [
            *build_scale(),
            {"scale": "two", "rank": 1, "label": "No"},
            {"scale": "two", "rank": 2, "label": "Yes"},
        ],
        "competencies": [
            *build_competencies("weld read"),
            {
                "id": "licence",
                "label": 'Größe "A" \\ <tag> & 50 % |\n\tnext ü 😀',
                "scale": "two",
                "broader": ("read", "weld"),
                "kind": "certificate",
                "validity_months": 24,
                "safety": True,
                "alt_labels": ("B", "C"),
                "exact_match": ("http://other.example/x#1",),
                "assessment_hours": 0.25,
            },
        ],
        "roles": [{"id": "fitter", "label": "Fitter", "family": "metal", "months_to_full": 6}],
        "requirements": [
            {
                "role": "fitter",
                "competency": "weld",
                "level": 3,
                "entry_level": 2,
                "weight": 4.5,
                "measured_level": 2.75,
            },
            {"role": "fitter", "competency": "licence", "level": 2, "necessity": "blocking", "learned_on_job": False},
        ],
        "courses": [{"id": "k1", "label": "Course", "hours": 7.5, "strand": "formal", "seats": 8, "weeks": 2.0}],
        "outcomes": [{"course": "k1", "competency": "licence", "level": 2, "renews": True}],
        "entry_conditions": [{"course": "k1", "competency": "weld", "level": 1}],
        "teams": [{"id": "t", "label": "Team"}, {"id": "u", "label": "Part", "part_of": "t"}],
        "shifts": [{"id": "early", "team": "t", "label": "Early"}],
        "people": [
            {
                "id": "p1",
                "name": "Ada Quill",
                "team": "t",
                "shift": "early",
                "role": "fitter",
                "start_date": date(2020, 1, 1),
            }
        ],
        "absences": [{"person": "p1", "from_date": date(2026, 1, 5), "to_date": date(2026, 1, 9)}],
        "assessments": [
            {"person": "p1", "competency": "weld", "level": 2, "date": date(2026, 1, 2), "assessor": "Dr. O~X / y"}
        ],
        "cover_needs": [{"team": "t", "competency": "weld", "level": 2, "applies": "early", "together": "a b"}],
        "places": [{"id": "bench", "team": "t", "role": "fitter", "shift": "early", "count": 2}],
    }


FOREIGN: list[Quad] = [
    (ns.GRAPH_FRAMEWORK, "<http://other.example/x>", LABEL, '"über"@de-at'),
    (ns.GRAPH_FRAMEWORK, f"<{ns.ID}competency/weld>", f"<{ns.SKOS}related>", f"<{ns.ID}competency/licence>"),
    (ns.GRAPH_PEOPLE, f"<{ns.ID}person/p1>", f"<{ns.SKOS}note>", '"left-handed tools"'),
]


def store_company() -> tuple[LiveGraph, list[Quad]]:
    rows = build_rows()
    rows["competencies"][2]["broader"] = ("read",)
    snapshot = build_snapshot(**rows)
    graph = LiveGraph.in_memory()
    graph.load({name: list(snapshot.get_table(name).values()) for name in TABLES}, FOREIGN, who="test", why="load")
    return graph, read_all(graph)


def read_all(graph: LiveGraph) -> list[Quad]:
    return sorted(quad for name in ns.DATA_GRAPHS for quad in graph.store.read_graph(name))


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_export_and_load_give_the_same_store(tmp_path: Path, suffix: str) -> None:
    graph, quads = store_company()
    path = tmp_path / f"out{suffix}"
    export_linked_data(quads, path)
    loaded = load_linked_data(path)
    assert loaded.findings == []
    snapshot = graph.get_snapshot()
    for name in TABLES:
        assert sorted(map(repr, loaded.records.get(name, []))) == sorted(map(repr, snapshot.get_table(name).values()))
    assert loaded.extra == sorted(FOREIGN)
    again = LiveGraph.in_memory()
    again.load(loaded.records, loaded.extra, who="test", why="again")
    assert read_all(again) == quads


@pytest.mark.parametrize("suffix", sorted(LINKED_DATA_SUFFIXES))
def test_rdflib_reads_the_same_statements(tmp_path: Path, suffix: str) -> None:
    _, quads = store_company()
    path = tmp_path / f"out{suffix}"
    n_written = export_linked_data(quads, path, with_standard_types=False)
    assert n_written == len(quads)
    if suffix in (".nq", ".trig", ".jsonld", ".json"):
        return  # rdflib's Graph reads no named graphs; the round trip above holds them
    assert isomorphic(
        Graph().parse(path, format={".ttl": "turtle", ".nt": "nt"}.get(suffix, "xml")), build_graph(quads)
    )


@pytest.mark.parametrize("suffix", [".ttl", ".nq", ".trig", ".jsonld", ".rdf"])
def test_export_is_the_same_bytes_whatever_the_order(tmp_path: Path, suffix: str) -> None:
    _, quads = store_company()
    export_linked_data(quads, tmp_path / f"one{suffix}")
    export_linked_data(reversed(quads), tmp_path / f"two{suffix}")
    assert (tmp_path / f"one{suffix}").read_bytes() == (tmp_path / f"two{suffix}").read_bytes()
    assert sorted(p.name for p in tmp_path.iterdir()) == [f"one{suffix}", f"two{suffix}"]


def test_export_tells_other_tools_what_our_records_are(tmp_path: Path) -> None:
    _, quads = store_company()
    export_linked_data(quads, tmp_path / "out.ttl")
    graph = Graph().parse(tmp_path / "out.ttl")
    concepts = {str(node) for node in graph.subjects(RDF.type, SKOS.Concept)}
    assert f"{ns.ID}competency/weld" in concepts
    assert f"{ns.ID}level/s5~1" in concepts
    assert f"{ns.ID}scale/s5" not in concepts


def test_export_to_rdf_xml_refuses_what_xml_cannot_hold(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="forbids"):
        export_linked_data([("", "<urn:a>", "<urn:b:c>", '"\\u0001"')], tmp_path / "a.rdf")
    with pytest.raises(FileFormatError, match="RDF/XML"):
        export_linked_data([("", "<urn:a>", "<urn:b:1>", '"x"')], tmp_path / "a.rdf")
    assert list(tmp_path.iterdir()) == []


def test_export_to_an_unknown_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"\.jsonld"):
        export_linked_data([], tmp_path / "out.txt")
