"""What is written by open standards: it comes back by value, keeps their rules, and holds nobody."""

from __future__ import annotations

import json
import re
import uuid
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import rdflib
from effort import draws
from exported import build_edition, read_skos
from hypothesis import given, settings
from hypothesis import strategies as st
from rdflib import SKOS

from api.desk.exports import dump_package
from loaders.linked_data.writer import iterate_linked_data
from loaders.open_standards import case_names
from loaders.open_standards.case_reader import load_case
from loaders.open_standards.case_writer import build_case
from loaders.open_standards.dataset import build_dataset
from loaders.open_standards.edition import Edition, Export
from loaders.open_standards.schema_org import build_schema_org
from loaders.open_standards.skos import build_skos
from ontology.checks.skos import CHECKS
from ontology.mapping.statement_counts import StatementCounts
from ontology.model.mapping_tables import ACCEPTED
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import build_graph

EDITIONS = st.integers(0, 10_000).map(build_edition)
#: Associations that lead out of a package.
OUTWARDS = (case_names.EXACT, case_names.RELATED)
FEW = settings(max_examples=draws(12), deadline=None)


def write(export: Export, kind: str) -> str:
    return "".join(iterate_linked_data(export.quads, kind))


def load_package(package: dict[str, Any]) -> Any:
    with TemporaryDirectory() as folder:
        path = Path(folder, "package.json")
        path.write_bytes(dump_package(package))
        return load_case(path)


@FEW
@given(EDITIONS)
def test_a_case_package_comes_back_by_value(edition: Edition) -> None:
    loaded = load_package(build_case(edition).package)
    assert [finding for finding in loaded.findings if finding.severity == "error"] == []
    snapshot = edition.snapshot
    for name in ("framework", "scales", "competencies", "replacements"):
        table = TABLES[name]
        found = {table.get_key(record): record for record in loaded.records.get(name, [])}
        assert found == dict(snapshot.get_all(name)), name
    told = {row for row in snapshot.get_all("translations").values() if row.table in ("competencies", "scales")}
    assert set(loaded.records.get("translations", [])) == told
    related = {
        (row.competency, row.target)
        for row in snapshot.get_table("mappings").values()
        if row.relation == "related" and row.status == ACCEPTED
    }
    assert {(row.competency, row.target) for row in loaded.records.get("mappings", [])} == related


@FEW
@given(EDITIONS)
def test_every_node_of_a_package_has_what_case_asks(edition: Edition) -> None:
    """Names and required members of 1EdTech CASE 1.1: from our design and from memory, no copy is read here."""
    package = json.loads(dump_package(build_case(edition).package))
    assert package.keys() == {"CFDocument", "CFItems", "CFAssociations"}
    names = {item["uri"] for item in package["CFItems"]} | {package["CFDocument"]["uri"]}
    for kind, wanted in case_names.REQUIRED.items():
        nodes = [package[kind]] if kind == "CFDocument" else package.get(kind, [])
        for node in nodes:
            assert all(node[member] for member in wanted)
            assert uuid.UUID(node["identifier"]) == uuid.uuid5(uuid.NAMESPACE_URL, node["uri"])
            assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00", node["lastChangeDateTime"])
    for node in package["CFAssociations"]:
        for end in ("originNodeURI", "destinationNodeURI"):
            assert node[end].keys() == set(case_names.REQUIRED["link"])
            assert all(node[end].values())
        assert node["originNodeURI"]["uri"] in names
        assert node["destinationNodeURI"]["uri"] in names or node["associationType"] in OUTWARDS
    told = [node["identifier"] for node in (*package["CFItems"], *package["CFAssociations"])]
    assert len(set(told)) == len(told)


@FEW
@given(EDITIONS)
def test_skos_comes_back_by_value(edition: Edition) -> None:
    found, snapshot = read_skos(write(build_skos(edition), "nt")), edition.snapshot
    assert found["scale"] == {
        scale: [(level.label, level.description) for level in levels] for scale, levels in snapshot.scales.items()
    }
    for table, segment in (("competencies", "competency"), ("roles", "role")):
        records = snapshot.get_all(table).values()
        assert found[segment].keys() == {record.id for record in records}
        for record in records:
            told = found[segment][record.id]
            assert (told["label"], told["definition"]) == (record.label, record.definition)
            rows = snapshot.get_translations((table, record.id))
            assert told["translations"] == {(row.column, row.language, text) for row in rows for text in row.texts}
            assert told["exact_match"] == record.exact_match
            assert told["is_retired"] == (record.retired_on is not None)
            assert told["mapped"] == sorted(
                (row.relation, row.target)
                for row in (snapshot.get_mappings(record.id) if table == "competencies" else ())
                if row.status == ACCEPTED and row.relation != "different"
            )
            if table == "competencies":
                assert (told["alt_labels"], told["broader"]) == (record.alt_labels, record.broader)
                assert told["narrower"] == tuple(sorted(one.id for one in records if record.id in one.broader))
                assert told["scale"] == record.scale
                replaced = [row.new for row in snapshot.get_replacements(("competencies", record.id))]
                assert told["replaced_by"] == (tuple(replaced) if told["is_retired"] else ())


@FEW
@given(EDITIONS)
def test_skos_keeps_the_six_conditions_by_our_checks_and_by_rdflib(edition: Edition) -> None:
    """SKOS Reference (W3C, 18 August 2009): S9, S13, S14, S27, S37, S46; the second time written out as queries."""
    export = build_skos(edition)
    assert [finding for check in CHECKS.values() for finding in check(build_graph(export.quads))] == []
    assert len(CHECKS) == 6
    graph = rdflib.Graph().parse(data=write(export, "turtle"), format="turtle")
    assert {str(p) for p in graph.predicates()} <= {
        *(p for p in map(str, graph.predicates()) if p.startswith((str(SKOS), ns.DCTERMS))),
        *(ns.RDF + name for name in ("type", "first", "rest")),
        ns.OWL + "deprecated",
    }
    for condition in (
        "?x a skos:ConceptScheme, skos:Concept",
        "?x skos:prefLabel ?l ; skos:altLabel ?l",
        "?x skos:prefLabel ?l, ?m FILTER(?l != ?m && LANG(?l) = LANG(?m))",
        "?x skos:related ?y . ?x skos:broader+ ?y",
        "?x a skos:Collection, skos:Concept",
        "?x a skos:OrderedCollection, skos:Concept",
        "?x skos:exactMatch ?y ; skos:broadMatch|skos:relatedMatch ?y",
    ):
        assert not graph.query(f"ASK {{ {condition} }}", initNs={"skos": SKOS}).askAnswer, condition


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
@settings(FEW, max_examples=4)
@given(EDITIONS)
def test_json_ld_and_turtle_say_the_same_to_rdflib(edition: Edition) -> None:
    counts = StatementCounts({f"<{ns.SKOS}prefLabel>": 2}, {f"<{ns.SKOS}Concept>": 1}, 1)
    dataset = build_dataset(edition, counts, (), "http://127.0.0.1:8000/api/sparql")
    for export in (build_skos(edition), build_schema_org(edition), dataset):
        wanted = set(rdflib.Graph().parse(data=write(export, "nt"), format="nt"))
        assert len(wanted) == len(export.quads)
        assert set(rdflib.Graph().parse(data=write(export, "turtle"), format="turtle")) == wanted
        assert set(rdflib.Graph().parse(data=write(export, "json-ld"), format="json-ld")) == wanted


@FEW
@given(EDITIONS)
def test_what_is_left_out_is_counted(edition: Edition) -> None:
    snapshot = edition.snapshot
    for left_out in (build_skos(edition).left_out, build_case(edition).left_out):
        for name in ("requirements", "courses", "outcomes", "entry_conditions"):
            assert left_out.get(name.replace("_", " "), 0) == len(snapshot.get_all(name))
    left_out = build_schema_org(edition).left_out
    assert left_out.get("levels of scales", 0) == len(snapshot.get_all("scales"))
    assert left_out.get("retired competencies", 0) == 2
    assert all(left_out.values())
