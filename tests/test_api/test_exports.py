"""The framework to take away: over HTTP, by command, counted as the dataset says, with nobody in it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
import rdflib
from canary_company import open_canaries
from click.testing import CliRunner
from flask.testing import FlaskClient
from rdflib import RDF, Namespace, URIRef
from scenario import SCENARIO

from api.desk.exports import STANDARDS
from api.terminal.program import program
from loaders.open_standards.dataset import DATASET
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.rdf import namespaces as ns

VOID, DCAT, SCHEMA = Namespace(ns.VOID), Namespace(ns.DCAT), Namespace(ns.SCHEMA)
ADDRESSES = ("skos", "schema-org", "linked-data")
TWO = f"VALUES ?g {{ <{ns.GRAPH_FRAMEWORK}> <{ns.GRAPH_OFFERS}> }}"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exports") / "store"
    graph = LiveGraph.open(folder, create=True)
    load_paths(graph, [SCENARIO])
    graph.close()
    return folder


def run(*words: str) -> str:
    told = CliRunner().invoke(program, words)
    assert told.exit_code == 0, told.output
    return told.output


def read(client: FlaskClient, address: str, form: str) -> rdflib.Graph:
    response = client.get(f"{address}?format={form}")
    assert response.status_code == 200
    return rdflib.Graph().parse(data=response.data, format={"n-triples": "nt"}.get(form, form))


def test_the_dataset_counts_what_is_exported(client: FlaskClient, store: Path, tmp_path: Path) -> None:
    """`void:triples` is the number of triples of the export of the same graphs, partition by partition."""
    dataset, node = read(client, "/api/dataset", "turtle"), URIRef(DATASET)
    exported = read(client, "/api/exports/linked-data", "n-triples")
    assert int(dataset.value(node, VOID.triples)) == len(exported)
    parts = {part: int(dataset.value(part, VOID.triples)) for part in dataset.objects(node, VOID.propertyPartition)}
    assert sum(parts.values()) == len(exported)
    for part, n in parts.items():
        assert n == len(list(exported.triples((None, dataset.value(part, VOID.property), None))))
    for part in dataset.objects(node, VOID.classPartition):
        kind = dataset.value(part, VOID["class"])
        assert int(dataset.value(part, VOID.entities)) == len(list(exported.subjects(RDF.type, kind)))
    run("export", str(tmp_path / "all.nq"), "--store", str(store))
    run("export", str(tmp_path / "about.nt"), "--as", "dataset", "--store", str(store))
    ends = tuple(f"<{graph}> .\n" for graph in (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS))
    lines = [line for line in (tmp_path / "all.nq").read_text("utf-8").splitlines(True) if line.endswith(ends)]
    about = rdflib.Graph().parse(tmp_path / "about.nt")
    assert int(about.value(node, VOID.triples)) == len(lines) > 5_000


def test_the_dataset_leads_to_what_is_there(client: FlaskClient) -> None:
    dataset, node = read(client, "/api/dataset", "turtle"), URIRef(DATASET)
    addresses = [
        str(one) for part in dataset.objects(node, DCAT.distribution) for one in dataset.objects(part, DCAT.downloadURL)
    ]
    assert len(addresses) == 5
    for address in addresses:
        response = client.get(address.removeprefix("http://localhost"))
        assert response.status_code == 200
        media_type = next(
            str(dataset.value(part, DCAT.mediaType)).removeprefix(ns.MEDIA_TYPES)
            for part in dataset.subjects(DCAT.downloadURL, URIRef(address))
        )
        assert response.mimetype == media_type
    assert str(dataset.value(node, VOID.sparqlEndpoint)) == "http://localhost/api/sparql"
    assert str(dataset.value(node, rdflib.DCTERMS.title)) == "What the works asks"
    assert str(dataset.value(node, rdflib.DCTERMS.license)) == "For the works alone"


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
@pytest.mark.parametrize("name", ADDRESSES)
def test_every_form_says_the_same(client: FlaskClient, name: str) -> None:
    wanted = set(read(client, f"/api/exports/{name}", "n-triples"))
    assert set(read(client, f"/api/exports/{name}", "turtle")) == wanted
    assert set(read(client, f"/api/exports/{name}", "json-ld")) == wanted


def test_schema_org_says_what_the_records_say(client: FlaskClient, shared_graph: LiveGraph) -> None:
    """Types and properties as schema.org names them, with durations of ISO 8601."""
    graph, snapshot = read(client, "/api/exports/schema-org", "n-triples"), shared_graph.get_snapshot()
    for record in snapshot.competencies.values():
        node = URIRef(ns.record_iri("competency", record.id))
        assert str(graph.value(node, SCHEMA.termCode)) == record.id
        is_credential = (node, RDF.type, SCHEMA.EducationalOccupationalCredential) in graph
        assert is_credential == record.is_certificate
        months = record.validity_months if record.is_certificate else None
        assert graph.value(node, SCHEMA.validFor) == (None if months is None else rdflib.Literal(f"P{months}M"))
    for course in snapshot.courses.values():
        node = URIRef(ns.record_iri("course", course.id))
        hours, minutes = re.fullmatch(r"PT(?:(\d+)H)?(?:(\d+)M)?", str(graph.value(node, SCHEMA.timeRequired))).groups()  # type: ignore[union-attr]
        assert int(hours or 0) + int(minutes or 0) / 60 == pytest.approx(course.hours, abs=1 / 120)
        taught = {str(one) for one in graph.objects(node, SCHEMA.teaches)}
        assert taught == {ns.record_iri("competency", one.competency) for one in snapshot.get_outcomes(course.id)}
    for role in snapshot.roles.values():
        skills = set(graph.objects(URIRef(ns.record_iri("role", role.id)), SCHEMA.skills))
        assert len(skills) == len(snapshot.get_requirements(role.id))


def test_what_is_left_out_stands_in_the_answer_and_is_printed(client: FlaskClient, store: Path, tmp_path: Path) -> None:
    left_out = json.loads(client.get("/api/exports/case").headers["Newel-Left-Out"])
    assert left_out["roles"] == len(client.get("/api/roles?page_size=1000").json or [])
    assert json.loads(client.get("/api/dataset").headers["Newel-Left-Out"]) == {}
    endings = {"case": "json", "dataset": "ttl", "schema-org": "jsonld", "skos": "ttl"}
    for name in STANDARDS:
        told = run("export", str(tmp_path / f"{name}.{endings[name]}"), "--as", name, "--store", str(store))
        assert ("Left out, as this form cannot hold it:" in told) == (name != "dataset")
    assert "requirements (284)" in run("export", str(tmp_path / "x.json"), "--as", "case", "--store", str(store))


def test_a_package_is_loaded_into_another_store(store: Path, tmp_path: Path) -> None:
    package, other = tmp_path / "case.json", tmp_path / "other"
    run("export", str(package), "--as", "case", "--store", str(store))
    told = run("load", str(package), "--as", "case", "--store", str(other))
    assert "107 competencies" in told or "108 competencies" in told
    run("export", str(tmp_path / "again.json"), "--as", "case", "--store", str(other))
    first, second = (json.loads(path.read_text("utf-8")) for path in (package, tmp_path / "again.json"))
    for one in (first, second):
        for node in (one["CFDocument"], *one["CFItems"], *one["CFAssociations"]):
            del node["lastChangeDateTime"]
    assert first == second


FOREIGN = {
    "CFDocument": {"identifier": "d", "uri": "https://x.example/d", "title": "Others' list", "creator": "Others"},
    "CFItems": [
        {
            "identifier": "5f0c",
            "uri": "https://x.example/1",
            "fullStatement": "Reads a gauge",
            "humanCodingScheme": "G.1",
        },
        {
            "identifier": "5f0d",
            "uri": "https://x.example/2",
            "fullStatement": "Reads any gauge",
            "humanCodingScheme": "G",
        },
        {"identifier": "5f0e", "uri": "https://x.example/3", "fullStatement": "Twice", "humanCodingScheme": "G"},
        {"identifier": "5f0f", "uri": "https://x.example/4"},
    ],
    "CFAssociations": [
        {
            "associationType": kind,
            "originNodeURI": {"uri": "https://x.example/1"},
            "destinationNodeURI": {"uri": target},
        }
        for kind, target in (
            ("isChildOf", "https://x.example/2"),
            ("precedes", "https://x.example/3"),
            ("isPartOf", "https://x.example/3"),
            ("ext:near", "https://x.example/3"),
            ("exactMatchOf", "https://y.example/a"),
        )
    ],
}


def test_a_package_of_others_is_taken_as_far_as_it_goes(tmp_path: Path) -> None:
    path, store = tmp_path / "others.json", tmp_path / "store"
    path.write_text(json.dumps(FOREIGN), "utf-8")
    words = ["load", str(path), "--as", "case", "--skip-faulty", "--json", "--store", str(store)]
    told = json.loads(run(*words))
    said = [(one["source"].rpartition(", ")[2], one["value"], one["reason"]) for one in told["findings"]]
    assert {value for _, value, _ in said} >= {"precedes", "isPartOf", "ext:near"}
    assert any(source == "CFItems/3" and "required" in reason for source, _, reason in said)
    graph = LiveGraph.open(store)
    found = graph.get_snapshot().competencies
    graph.close()
    assert found.keys() == {"G.1", "5f0d", "5f0e"}
    assert (found["G.1"].broader, found["G.1"].exact_match) == (("5f0d",), ("https://y.example/a",))
    assert {one.scale for one in found.values()} == {"met"}


def test_no_form_holds_anybody() -> None:
    accounts = open_canaries().accounts
    reader, known = accounts.sign_in("reader"), re.compile(r"zq|id/(person|team|assessment|place)/", re.IGNORECASE)
    for address in (*(f"/api/exports/{name}" for name in (*ADDRESSES, "case")), "/api/dataset"):
        response = reader.get(address)
        assert response.status_code == 200
        assert known.search(response.text) is None, address


def test_another_state_is_told_where_it_can_be(client: FlaskClient) -> None:
    assert client.get("/api/exports/skos?as_of=1").status_code == 200
    assert client.get("/api/dataset?as_of=1").status_code in (200, 422)
    first = client.get("/api/exports/case")
    assert client.get("/api/exports/case", headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    assert client.get("/api/exports/case?format=turtle").status_code == 406
