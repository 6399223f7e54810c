"""The history over HTTP, on its page and on the command line: commits, rows in words, lives, named graphs."""

from __future__ import annotations

import datetime as dt
import html
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from edited_companies import bulk_from
from flask.testing import FlaskClient
from html_forms import list_links
from rdflib import Graph, Namespace
from rest_company import build_company

from api.app import create_app
from api.desk.change_words import HistoryWords
from api.http.collection import COLLECTIONS
from api.terminal.program import program
from ontology.history.rows import build_rows
from ontology.live.live_graph import Change, LiveGraph
from ontology.mapping.writer import build_quads
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store

PROV = Namespace(ns.PROV)


def edit(graph: LiveGraph, put: Any = (), remove: Any = (), *, who: str = "Ada", why: str = "") -> None:
    graph.apply(Change(put=tuple(put), remove=tuple(remove)), who=who, why=why)


@pytest.fixture(scope="module")
def graph() -> LiveGraph:
    """Loaded on 1 November; edits on the days after it, one of them in bulk."""
    store = Store.in_memory()
    store._clock = lambda: dt.datetime(2026, 11, store.revision + 1, 12, tzinfo=dt.UTC)
    graph = LiveGraph(store)
    company = build_company().get_snapshot()
    extra = [(ns.GRAPH_FRAMEWORK, "<http://x.example/a>", "<http://x.example/p>", '"v"')]
    with bulk_from(50):
        graph.load({n: list(company.get_table(n).values()) for n in TABLES}, extra, who="Bo", why="load company")
    asked = company.get_table("requirements")["operator", "pump"]
    lower = replace(asked, level=2, entry_level=2, unsupervised_level=2, weight=4.5)
    edit(graph, [("requirements", lower)], why="New pumps")
    edit(graph, [("competencies", replace(company.competencies["pump"], label="Pumps", safety=True))])
    edit(graph, [("people", replace(company.people["p1"], study_hours_per_week=5.0))], why="replaced 1 person")
    edit(graph, [("roles", TABLES["roles"].build(id="idle", label="Idle role"))], who="Bo")
    with bulk_from(1):
        edit(
            graph, remove=[("roles", ("idle",)), ("requirements", ("operator", "pump"))], who="Bo", why="a new edition"
        )
    return graph


@pytest.fixture(scope="module")
def client(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


def get(client: FlaskClient, address: str) -> Any:
    response = client.get(address)
    assert response.status_code == 200, response.text
    return response.json


def test_commits_stand_newest_first_with_their_counts(client: FlaskClient) -> None:
    told = get(client, "/api/history")
    assert [commit["revision"] for commit in told] == [6, 5, 4, 3, 2, 1]
    assert told[0] == {
        "revision": 6,
        "when": "2026-11-06T12:00:00Z",
        "who": "Bo",
        "why": "a new edition",
        "release": None,
        "undo_of": None,
        "is_bulk": True,
        "counts": [
            {"table": "roles", "added": 0, "removed": 1, "changed": 0},
            {"table": "requirements", "added": 0, "removed": 1, "changed": 0},
        ],
        "others": 0,
    }
    assert told[-1]["others"] == 1


@pytest.mark.parametrize(
    ("query", "revisions"),
    [
        ("since=2026-11-05", [6, 5]),
        ("until=2026-11-02", [2, 1]),
        ("since=2026-11-03&until=2026-11-03", [3]),
        ("who=Bo", [6, 5, 1]),
        ("table=requirements", [6, 2, 1]),
        ("table=people", [4, 1]),
        ("page=2&page_size=4", [2, 1]),
        ("as_of=3", [3, 2, 1]),
    ],
)
def test_commits_can_be_filtered_and_paged(query: str, revisions: list[int], client: FlaskClient) -> None:
    assert [commit["revision"] for commit in get(client, f"/api/history?{query}")] == revisions


@pytest.mark.parametrize(
    ("query", "parameter"),
    [("table=pets", "table"), ("since=then", "since"), ("page_size=0", "page_size"), ("x=1", "x")],
)
def test_a_wrong_filter_is_one_addressed_error(query: str, parameter: str, client: FlaskClient) -> None:
    response = client.get(f"/api/history?{query}")
    assert response.status_code == 422
    assert [error["parameter"] for error in (response.json or {})["errors"]] == [parameter]


def test_a_revision_tells_its_rows(client: FlaskClient) -> None:
    told = get(client, "/api/history/2")
    (row,) = told["rows"]
    assert (row["table"], row["id"], row["change"]) == ("requirements", "operator~pump", "changed")
    assert row["columns"] == [
        {"column": "level", "from": 3, "to": 2, "direction": "lowered", "stated": True},
        {"column": "entry_level", "from": 3, "to": 2, "direction": "lowered", "stated": False},
        {"column": "unsupervised_level", "from": 3, "to": 2, "direction": "lowered", "stated": False},
        {"column": "weight", "from": 3.0, "to": 4.5, "direction": "raised", "stated": True},
    ]
    assert row["words"] == (
        "full level of Pumps for Operator lowered from 3 to 2; weight of Pumps for Operator raised from 3 to 4.5"
    )
    raw = get(client, "/api/history/1")["raw"]
    assert raw == [
        {
            "change": "added",
            "graph": ns.GRAPH_FRAMEWORK,
            "subject": "<http://x.example/a>",
            "predicate": "<http://x.example/p>",
            "object": '"v"',
        }
    ]
    assert get(client, "/api/history/1?page=2&page_size=5")["rows"] == get(client, "/api/history/1")["rows"][5:10]


def test_rows_about_people_stand_in_the_life_of_their_own_records_only(client: FlaskClient) -> None:
    assert get(client, "/api/history/4")["rows"] == []
    assert {row["table"] for row in get(client, "/api/history/1")["rows"]}.isdisjoint({"people", "assessments"})
    life = get(client, "/api/history/people/p1")["rows"]
    assert life[0]["words"].startswith("hours a week for learning of Ada Example")
    assert {row["table"] for row in life} >= {"people", "assessments"}
    assert "p1" not in client.get("/api/history/1?format=n-quads").text
    assert "people" not in {row["table"] for row in get(client, "/api/history/roles/operator")["rows"]}


def test_a_commit_is_told_as_linked_data(client: FlaskClient) -> None:
    activity = Graph().parse(data=client.get("/api/history/6?format=turtle").text, format="turtle")
    assert set(activity.subjects(None, PROV.Activity)) == {Namespace(ns.HISTORY)["6"]}
    named = client.get("/api/history/6", headers={"Accept": "application/n-quads"})
    assert named.content_type == "application/n-quads"
    lines = named.text.splitlines()
    assert {line.rsplit(" ", 2)[1] for line in lines} == {f"<{ns.HISTORY}6/framework/removed>"}
    assert len(lines) == 2 + 5


def test_the_life_of_a_competency_holds_what_ever_named_it(client: FlaskClient) -> None:
    told = get(client, "/api/history/competencies/pump")
    assert (told["label"], told["exists"], told["replaced_by"]) == ("Pumps", "yes", [])
    assert [row["words"] for row in told["rows"][:2]] == [
        "Operator no longer asks Pumps, by Bo, 6 November 2026: a new edition",
        "renamed from Pump operation to Pumps; now a safety matter, by Ada, 3 November 2026",
    ]
    assert told["rows"][2]["words"].endswith(", by Ada, 2 November 2026: New pumps")
    assert {row["revision"] for row in get(client, "/api/history/competencies/pump?as_of=2")["rows"]} == {2, 1}
    assert len(get(client, "/api/history/competencies/pump?page_size=2")["rows"]) == 2


def test_a_record_that_has_gone_has_a_life_and_one_that_never_was_has_none(client: FlaskClient) -> None:
    told = get(client, "/api/history/roles/idle")
    assert (told["label"], told["exists"]) == ("Idle role", "removed")
    assert [row["change"] for row in told["rows"]] == ["removed", "added"]
    assert get(client, "/api/history/requirements/operator~pump")["label"] == "Operator asks Pumps"
    for address in ("roles/never", "pets/x", "7", "roles/idle?as_of=2"):
        assert client.get(f"/api/history/{address}").status_code == 404, address


@pytest.mark.parametrize("table", TABLES)
def test_every_record_has_a_life_and_a_page_of_it(table: str, client: FlaskClient, graph: LiveGraph) -> None:
    collection, snapshot = COLLECTIONS[table], graph.get_snapshot()
    for item in collection.get_items(snapshot):
        address = f"/history/{collection.name}/{collection.get_path_id(item)}"
        told = get(client, f"/api{address}")
        assert (told["table"], told["exists"]) == (table, "yes")
        assert told["rows_total"] == len(told["rows"]) > 0
        assert client.get(address).status_code == 200


def test_the_page_of_a_life_says_it_in_words_and_the_record_links_to_it(client: FlaskClient) -> None:
    page = client.get("/history/competencies/pump")
    assert page.status_code == 200
    assert "<h1>History of Pumps</h1>" in page.text
    assert "Renamed from Pump operation to Pumps; now a safety matter" in page.text
    assert 'href="/history/competencies/pump"' in client.get("/competencies/pump").text
    assert client.get("/history/competencies/never").status_code == 404
    unchanged = client.get("/history/competencies/pump", headers={"If-None-Match": page.headers["ETag"]})
    assert unchanged.status_code == 304


def test_pages_tell_all_changes_and_what_one_changed(client: FlaskClient) -> None:
    commits = get(client, "/api/history")
    read = client.get("/history").text
    assert f"{len(commits)} changes of the data are kept, newest first." in read
    links = list_links(read)
    assert [one for one in links if re.fullmatch(r"/history/\d+", one)] == [
        f"/history/{one['revision']}" for one in commits
    ]
    some = client.get(f"/history?page_size=1&who={commits[0]['who']}").text
    assert "Older" in some
    assert sum(bool(re.fullmatch(r"/history/\d+", one)) for one in list_links(some)) == 1
    assert client.get("/history?table=nothing").status_code == 422
    told = next(one for one in (get(client, f"/api/history/{commit['revision']}") for commit in commits) if one["rows"])
    page = html.unescape(client.get(f"/history/{told['revision']}").text)
    assert told["rows"][0]["words"][1:] in page
    assert f"/new/drafts?undo_of={told['revision']}" in list_links(page)
    assert client.get("/history/999").status_code == 404


def test_a_commit_that_kept_no_patch_is_told_without_rows() -> None:
    graph = LiveGraph.in_memory()
    role = TABLES["roles"].build
    for number in range(3):
        with bulk_from(1 if number == 1 else 20_000):
            edit(graph, [("roles", role(id=f"r{number}", label=f"R {number}"))])
    graph.store._engine.update(
        f"DELETE WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ <{ns.HISTORY}2> <{ns.NW}patchFile> ?f }} }}"
    )
    client = create_app(graph).test_client()
    assert [commit["counts"] is None for commit in get(client, "/api/history")] == [False, True, False]
    refused = client.get("/api/history/2")
    assert (refused.status_code, (refused.json or {})["first_revision"]) == (422, 3)
    assert get(client, "/api/history/3")["rows_total"] == 1
    assert get(client, "/api/history/roles/r2")["first_revision"] == 2
    assert [row["revision"] for row in get(client, "/api/history/roles/r2")["rows"]] == [3]


def test_words_of_every_kind_of_change() -> None:
    build = TABLES["competencies"].build
    scale = TABLES["scales"].build(scale="s", rank=1, label="L")
    before = build(
        id="c", label="C", scale="s", definition="Old words.", broader=("a",), alt_labels=("x",), kind="skill"
    )
    others = [build(id=one, label=one.upper(), scale="s") for one in ("a", "b")]
    state = Snapshot({"scales": [scale], "competencies": [before, *others]})

    def tell(**values: Any) -> str:
        after = replace(before, **values)
        old, new = set(build_quads(TABLES["competencies"], before)), set(build_quads(TABLES["competencies"], after))
        (row,) = build_rows(state, list(new - old), list(old - new))
        return HistoryWords(state).tell(row)

    assert tell(broader=("b",)) == "moved from under A to under B"
    assert tell(broader=("a", "b")) == "now also under B"
    assert tell(broader=()) == "no longer under A"
    assert tell(safety=True) == "now a safety matter"
    assert tell(alt_labels=("y",)) == "other names: now also y, no longer x"
    assert tell(validity_months=12).endswith("now 12")
    long = "w" * 100
    assert tell(definition=long) == f"definition changed from “Old words.” to “{'w' * 79}…”"
    assert "expiry" not in tell(kind="certificate")  # it only followed
    assert tell(kind="knowledge").endswith("changed from skill to knowledge")


def test_the_command_tells_the_same(tmp_path: Path) -> None:
    store = tmp_path / "store"
    graph = LiveGraph.open(store, create=True)
    company = build_company().get_snapshot()
    graph.load({n: list(company.get_table(n).values()) for n in TABLES}, who="Bo", why="load company")
    edit(graph, [("competencies", replace(company.competencies["pump"], label="Pumps"))], why="New pumps")
    client = create_app(graph).test_client()
    expected = {
        ("competencies", "pump"): get(client, "/api/history/competencies/pump"),
        ("--revision", "2"): get(client, "/api/history/2"),
        ("--who", "Ada"): get(client, "/api/history?who=Ada"),
    }
    graph.close()

    def run(*words: str) -> Any:
        return CliRunner().invoke(program, ["history", *words, "--store", str(store)])

    for words, answer in expected.items():
        told = run(*words, "--json")
        assert told.exit_code == 0, told.output
        assert json.loads(told.stdout) == answer
        assert "Pump" in run(*words).output or "New pumps" in run(*words).output
    assert "Renamed from Pump" in run("competencies", "pump").output
    assert run("competencies", "never").exit_code == 1
    assert run("competencies").exit_code == 2
