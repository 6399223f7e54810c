"""Everything kept about a person is shown to them and can be taken away: all of it, and of others nothing."""

from __future__ import annotations

import io
import json

import pytest
from flask import Flask
from flask.testing import FlaskClient
from python_calamine import CalamineWorkbook

from api.app import create_app
from api.http.actors import COOKIE
from api.pages.my_data import list_subjects
from ontology.about_person import collect_about
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.rdf import namespaces as ns
from ontology.store.lives import find_personal_lives


@pytest.fixture(scope="module")
def app(shared_graph: LiveGraph) -> Flask:
    return create_app(shared_graph)


@pytest.fixture
def ben(app: Flask) -> FlaskClient:
    client = app.test_client()
    client.set_cookie(COOKIE, "p2")
    return client


def test_nothing_about_a_person_is_left_out(shared_graph: LiveGraph) -> None:
    snapshot = shared_graph.get_snapshot()
    for person in snapshot.people:
        about = collect_about(snapshot, person)
        told = set(list_subjects(about)) | {ns.iri_term(TABLES[one.table].get_iri(one.record)) for one in about.named}
        # every node of the store that is of the person, says their id, or hangs on their agreed plan
        plans = [plan.id for plan in snapshot.get_agreed_plans(person)]
        sought = {f"/person/{person}>", f'"{person}"', *(f"/agreed-plan/{plan}>" for plan in plans)}
        found = {
            s
            for graph in ns.DATA_GRAPHS
            for _, s, _, o in shared_graph.store.read_graph(graph)
            if any(o.endswith(text) or s.endswith(text) for text in sought)
        }
        assert found <= told


def test_records_of_others_are_not_among_the_own(shared_graph: LiveGraph) -> None:
    about = collect_about(shared_graph.get_snapshot(), "p2")
    assert set(about.own) <= PERSONAL_TABLES
    assert all(getattr(one, "person", "p2") == "p2" for records in about.own.values() for one in records)
    assert ("orientation_done", "done_by") in {(one.table, one.column) for one in about.named}


def test_the_page_tells_all_of_it_with_links(ben: FlaskClient) -> None:
    page = ben.get("/my-data")
    assert page.status_code == 200
    assert page.headers["Cache-Control"] == "private, no-store"
    assert "records about you are kept" in page.text
    assert 'href="/people/p2"' in page.text
    # their reader knows whose they are
    assert ">Pump operation seen on 10 January 2026</a>" in page.text
    assert "/assessments/p2~pump~2026-01-10" in page.text
    for form in ("json-ld", "json", "xlsx"):
        assert f'href="/my-data?format={form}"' in page.text


def test_of_others_it_tells_neither_name_nor_level(ben: FlaskClient) -> None:
    told = [ben.get(f"/my-data{query}").text for query in ("", "?format=json")]
    assert "Cleo Example" not in told[0]
    # who appointed them is theirs to know; whom they were named for is not
    assert "Ada Example" not in told[0].split("Where you are named for others")[1]
    named = json.loads(told[1])["named"]
    told_as = {"what": "Orientation done", "you_are_named_as": "Done by", "competency": "", "day": "2026-01-12"}
    assert told_as in named


def test_who_looks_as_nobody_is_led_to_choose(app: Flask) -> None:
    page = app.test_client().get("/my-data")
    assert "You look as nobody" in page.text
    assert 'href="/me"' in page.text


def test_the_three_files_hold_the_same_records(ben: FlaskClient, shared_graph: LiveGraph) -> None:
    about = collect_about(shared_graph.get_snapshot(), "p2")
    numbers = {name: len(records) for name, records in about.own.items()}
    told = json.loads(ben.get("/my-data?format=json").data)["records"]
    assert {name: len(records) for name, records in told.items()} == numbers
    book = CalamineWorkbook.from_filelike(io.BytesIO(ben.get("/my-data?format=xlsx").data))
    sheets = {name: len(book.get_sheet_by_name(name).to_python()) - 1 for name in book.sheet_names}
    assert {name: sheets[name] for name in numbers} == numbers
    nodes = json.loads(ben.get("/my-data?format=json-ld").data)["@graph"]
    assert {f"<{node['@id']}>" for node in nodes} >= set(list_subjects(about))


def test_a_form_that_there_is_not_is_told(ben: FlaskClient) -> None:
    response = ben.get("/my-data?format=pdf")
    assert response.status_code == 422
    assert "json-ld, json, xlsx" in response.text


def test_it_says_who_changed_what_when(graph: LiveGraph) -> None:
    snapshot = graph.get_snapshot()
    (other,) = snapshot.get_absences("p3")
    absence = TABLES["absences"].build(person="p2", from_date=other.from_date, to_date=other.to_date)
    graph.apply(Change(put=(("absences", absence),)), who="Cleo", why="planned")
    about = collect_about(graph.get_snapshot(), "p2")
    lives = find_personal_lives(graph.store, list(list_subjects(about)))
    node = ns.iri_term(TABLES["absences"].get_iri(absence))
    assert [(commit.who, commit.revision) for commit in lives[node]] == [("Cleo", 2)]
    person = ns.iri_term(TABLES["people"].get_iri(snapshot.people["p2"]))
    assert [commit.who for commit in lives[person]] == ["test"]
