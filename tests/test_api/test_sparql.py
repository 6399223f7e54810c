"""The SPARQL endpoint, page and command: by the SPARQL 1.1 Protocol (W3C, 21 March 2013), section 2.1."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pyoxigraph as ox
import pytest
import rdflib
from click.testing import CliRunner
from flask.testing import FlaskClient
from scenario import SCENARIO
from signed_in import House

from api.app import create_app
from api.http.context import EXTENSION
from api.pages.sparql_examples import EXAMPLES, Example
from api.settings import Settings
from api.terminal.program import program
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.rdf import namespaces as ns

#: Long enough for two busy cores.
SLOW = Settings(query_time_limit_s=30)
COUNT = "SELECT (COUNT(*) AS ?n) { ?s ?p ?o }"
ROWS = "application/sparql-results+json"


@pytest.fixture(scope="module")
def scenario_client() -> Iterator[FlaskClient]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield create_app(graph, SLOW).test_client()
    graph.close()


@pytest.fixture(scope="module")
def small(shared_graph: LiveGraph) -> FlaskClient:
    return create_app(shared_graph, SLOW).test_client()


def count(response: object) -> int:
    return int(json.loads(response.data)["results"]["bindings"][0]["n"]["value"])  # type: ignore[attr-defined]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.id)
def test_every_worked_query_finds_something(scenario_client: FlaskClient, example: Example) -> None:
    """On the page and over the API; what is found is read by another library than wrote it."""
    response = scenario_client.get("/api/sparql", query_string={"query": example.text})
    assert (response.status_code, response.headers.get("Newel-Cut")) == (200, None)
    page = scenario_client.get(f"/sparql?example={example.id}")
    assert page.status_code == 200
    if response.mimetype == "text/turtle":
        assert len(rdflib.Graph().parse(data=response.data, format="turtle")) > 100
    else:
        found = ox.parse_query_results(response.data, format=ox.QueryResultsFormat.JSON)
        rows = [] if isinstance(found, ox.QueryBoolean) else list(found)  # type: ignore[arg-type]
        assert rows or example.id in ("no-definition", "untaught", "is-there")
        lead = "Yes." if example.id == "is-there" else f"{len(rows):,} row{'' if len(rows) == 1 else 's'}."
        assert f'<p class="lead">{lead}</p>' in page.text


def test_worked_queries_say_what_the_records_say(scenario_client: FlaskClient) -> None:
    """Two ways to one truth: the triples, and the tables that everything else is computed from."""
    snapshot = scenario_client.application.extensions[EXTENSION].graph.get_snapshot()
    asked = Counter(requirement.competency for requirement in snapshot.get_table("requirements").values())
    taught = {outcome.competency for outcome in snapshot.get_table("outcomes").values()}
    lasting = [one for one in snapshot.competencies.values() if one.validity_months and one.validity_months <= 60]
    found = {
        example.id: json.loads(scenario_client.get("/api/sparql", query_string={"query": example.text}).data)
        for example in EXAMPLES
        if example.id != "as-skos"
    }
    rows = {name: document["results"]["bindings"] for name, document in found.items() if "results" in document}
    assert [int(row["roles"]["value"]) for row in rows["asked-most"]] == [n for _, n in asked.most_common(20)]
    assert len(rows["untaught"]) == len(asked.keys() - taught)
    assert len(rows["expire"]) == len(lasting)
    assert len(rows["courses-of"]) == len({outcome.course for outcome in snapshot.get_table("outcomes").values()})
    safety = {one.id for one in snapshot.competencies.values() if one.safety}
    assert found["is-there"]["boolean"] is bool(safety - asked.keys())


def test_a_query_comes_in_three_ways(small: FlaskClient) -> None:
    n = count(small.get("/api/sparql", query_string={"query": COUNT}))
    assert n > 100
    assert count(small.post("/api/sparql", data={"query": COUNT})) == n
    assert count(small.post("/api/sparql", data=COUNT, content_type="application/sparql-query")) == n
    named = {"default-graph-uri": ns.GRAPH_FRAMEWORK}
    alone = count(small.get("/api/sparql", query_string={"query": COUNT, **named}))
    assert 0 < alone < n
    assert count(small.post("/api/sparql", data={"query": COUNT, **named})) == alone
    named = {"named-graph-uri": ns.GRAPH_FRAMEWORK}
    assert count(small.get("/api/sparql", query_string={"query": COUNT, **named})) == 0
    inside = {"query": COUNT.replace("{", "{ GRAPH ?g {") + "}", **named}
    assert count(small.get("/api/sparql", query_string=inside)) == alone


FORMS = {
    "SELECT * { ?s ?p ?o } LIMIT 2": {
        "json": ROWS,
        "xml": "application/sparql-results+xml",
        "csv": "text/csv",
        "tsv": "text/tab-separated-values",
    },
    "CONSTRUCT WHERE { ?s ?p ?o }": {"turtle": "text/turtle", "n-triples": "application/n-triples"},
}


def test_every_form_by_name_and_by_accept(small: FlaskClient) -> None:
    for query, forms in FORMS.items():
        for form, media_type in forms.items():
            by_name = small.get("/api/sparql", query_string={"query": query, "format": form})
            by_accept = small.get("/api/sparql", query_string={"query": query}, headers={"Accept": media_type})
            assert by_name.mimetype == by_accept.mimetype == media_type
            assert by_name.data
    ask = {"query": "ASK {}"}
    assert small.get("/api/sparql", query_string=ask, headers={"Accept": "application/json"}).json == {
        "head": {},
        "boolean": True,
    }
    for query, form in (("ASK {}", "turtle"), ("DESCRIBE <a:b>", "csv"), ("ASK {}", "html")):
        assert small.get("/api/sparql", query_string={"query": query, "format": form}).status_code == 406


WRONG = [
    ({"query": "SELECT"}, 400, "malformed-query"),
    ({"query": "SELECT * FROM <a:b> { ?s ?p ?o }"}, 400, "malformed-query"),
    ({"query": "SELECT * { SERVICE <http://a.example/> { ?s ?p ?o } }"}, 400, "malformed-query"),
    ({"query": "INSERT DATA { <a:a> <a:b> <a:c> }"}, 400, "malformed-query"),
    ({"update": "DROP ALL"}, 400, "malformed-query"),
    ({}, 400, "malformed-query"),
    ({"query": ["ASK {}", "ASK {}"]}, 400, "malformed-query"),
    ({"query": "ASK {}", "default-graph-uri": ns.GRAPH_PEOPLE}, 403, "forbidden"),
    ({"query": "ASK {}", "named-graph-uri": "https://newel.example/history/1/x/added"}, 403, "forbidden"),
    ({"query": "ASK {} #" + "x" * 16_000}, 413, "too-large"),
    ({"query": "ASK {}", "as_of": "1"}, 422, "parameter"),
    ({"query": "ASK {}", "draft": "x"}, 422, "parameter"),
]


@pytest.mark.parametrize(("asked", "status", "name"), WRONG, ids=lambda value: str(value)[:40])
def test_what_is_wrong_is_told_as_a_problem(
    small: FlaskClient, asked: dict[str, str | list[str]], status: int, name: str
) -> None:
    form = "application/x-www-form-urlencoded"
    posted = small.post("/api/sparql", data=asked, content_type=form)
    for response in (small.get("/api/sparql", query_string=asked), posted):
        assert (response.status_code, response.mimetype) == (status, "application/problem+json")
        assert response.json is not None
        assert response.json["type"].endswith(f"#{name}")


def test_other_bodies_and_methods_are_refused(small: FlaskClient) -> None:
    assert small.post("/api/sparql", data="DROP ALL", content_type="application/sparql-update").status_code == 415
    assert small.post("/api/sparql", json={"query": "ASK {}"}).status_code == 415
    assert small.post("/api/sparql", data=b"\xff", content_type="application/sparql-query").status_code == 400
    assert small.put("/api/sparql").status_code == 405


def test_limits_are_settings_and_what_is_cut_is_said(shared_graph: LiveGraph) -> None:
    client = create_app(shared_graph, Settings(query_rows_max=3, query_time_limit_s=0.4)).test_client()
    every = "SELECT * { ?s ?p ?o }"
    cut = client.get("/api/sparql", query_string={"query": every})
    assert (cut.status_code, cut.headers["Newel-Cut"]) == (200, "rows")
    assert len((json.loads(cut.data))["results"]["bindings"]) == 3
    assert "The first 3 rows; there are more." in client.get(f"/sparql?query={quote(every)}").text
    hard = "SELECT * { ?s ?p ?o . ?a ?b ?c . ?d ?e ?f } ORDER BY ?s ?f"
    spent = client.get("/api/sparql", query_string={"query": hard})
    assert spent.status_code == 422
    assert spent.json is not None
    assert (spent.json["type"].rpartition("#")[2], spent.json["limit"]) == ("query-limit", "time")
    page = client.get(f"/sparql?query={quote(hard)}")
    assert (page.status_code, hard in page.text) == (422, True), "what was typed is not lost"


def test_workers_that_are_busy_are_told_with_when_to_ask_again(
    shared_graph: LiveGraph, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = create_app(shared_graph, SLOW).test_client()
    monkeypatch.setattr(shared_graph.store.queries, "_n_busy", SLOW.query_processes_max)
    response = client.get("/api/sparql", query_string={"query": "ASK {}"})
    assert response.status_code == 503
    assert int(response.headers["Retry-After"]) > 0


def test_a_commit_is_seen(writer: FlaskClient) -> None:
    text = {"query": "ASK { ?s <http://www.w3.org/2004/02/skos/core#prefLabel> 'Brand new' }"}
    assert json.loads(writer.get("/api/sparql", query_string=text).data)["boolean"] is False
    made = writer.put(
        "/api/competencies/brand-new", json={"label": "Brand new", "scale": "craft"}, headers={"If-None-Match": "*"}
    )
    assert made.status_code == 201
    assert json.loads(writer.get("/api/sparql", query_string=text).data)["boolean"] is True


def test_who_reads_the_framework_may_ask_and_nobody_else(house: House) -> None:
    for name in ("Reader", "Employee", "Lead", "Architect", "Admin"):
        browser = house.open(name)
        assert browser.client.get("/api/sparql?query=ASK%20%7B%7D").status_code == 200, name
        assert browser.get("/sparql?example=levels").status_code == 200
    nobody = house.open()
    assert nobody.client.get("/api/sparql?query=ASK%20%7B%7D").status_code == 401
    assert nobody.client.get("/sparql").status_code == 303


def test_the_command_prints_a_table_or_a_form(tmp_path: Path) -> None:
    store, file = tmp_path / "store", tmp_path / "query.rq"
    graph = LiveGraph.open(store, create=True)
    load_paths(graph, [SCENARIO / "scales.csv"])
    graph.close()
    file.write_text(next(example.text for example in EXAMPLES if example.id == "levels"), "utf-8")
    run = CliRunner()
    told = run.invoke(program, ["sparql", str(file), "--store", str(store)])
    assert told.exit_code == 0, told.output
    assert "10 rows." in told.output
    as_csv = run.invoke(program, ["sparql", "-", "--as", "csv", "--store", str(store)], input="ASK {}")
    assert as_csv.output.strip() == "true"
    file.write_text("SELECT", "utf-8")
    wrong = run.invoke(program, ["sparql", str(file), "--store", str(store)])
    assert wrong.exit_code == 2
    assert not (store / "queries").exists()
