"""Lists of tables and pages of records: the same as the REST lists say, what refers to a record, findings on it."""

from __future__ import annotations

import re
from types import SimpleNamespace
from typing import Any
from urllib.parse import unquote, urlencode

import pytest
from flask.testing import FlaskClient
from html_forms import list_links, read_page
from record_cases import CASES, Case

from api.desk.record_words import get_record_id
from api.http.collection import COLLECTIONS
from api.pages.addresses import build_record_address
from api.pages.record_cells import make_cells
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

#: Tables whose list or record is shown by a page of its own kind.
LISTED = [case for case in CASES if case.path not in ("competencies", "framework", "people", "teams", "sessions")]
SHOWN = [case for case in LISTED if case.path not in ("roles", "courses", "scales")]


def by_path(cases: list[Case]) -> Any:
    return pytest.mark.parametrize("case", cases, ids=[case.path for case in cases])


@by_path(LISTED)
def test_a_list_shows_the_records_of_the_rest_list(client: FlaskClient, shared_graph: LiveGraph, case: Case) -> None:
    page = client.get(f"/{case.path}")
    assert page.status_code == 200
    name = case.path.replace("-", "_")
    collection, links = COLLECTIONS[name], list_links(page.text)
    for item in collection.get_items(shared_graph.get_snapshot()):
        assert build_record_address(name, get_record_id(collection.table, item)) in links
    assert f"/new/{case.path}" in links


@by_path([case for case in LISTED if case.filter])
def test_a_list_is_narrowed_as_the_rest_list_is(writer: FlaskClient, case: Case) -> None:
    assert writer.post(f"/api/{case.path}", json=case.new).status_code == 201
    found = writer.get(f"/api/{case.path}?{urlencode(case.filter)}").json or []
    # an empty field of a form asks for nothing
    page = writer.get(f"/{case.path}?{urlencode(case.filter)}&q=", follow_redirects=True)
    assert page.request.url.endswith(f"/{case.path}?{urlencode(case.filter)}")
    lead = re.search(r'<p class="lead"[^>]*>([\d,]+|None) of ', page.text)
    assert lead is not None, page.text
    assert (
        lead[1]
        == str(writer.get(f"/api/{case.path}?{urlencode(case.filter)}").headers["X-Pagination"])
        .split('"total": ')[1]
        .partition(",")[0]
    )
    assert len(found) == page.text.count('role="rowheader"')


def test_a_list_is_searched_by_what_a_record_is_called(client: FlaskClient) -> None:
    page = client.get("/requirements?q=operator+pump")
    assert "/requirements/operator~pump" in list_links(page.text)
    assert "/requirements/operator~valve" not in list_links(page.text)
    assert "None of " in client.get("/requirements?q=nothing-so-called").text


def test_a_name_in_a_filter_leads_to_the_address_with_its_id(client: FlaskClient, shared_graph: LiveGraph) -> None:
    name = shared_graph.get_snapshot().roles["operator"].label
    response = client.get(f"/requirements?role={name.upper()}&weight=")
    assert (response.status_code, response.headers["Location"]) == (302, "/requirements?role=operator")


def test_browsers_keep_no_page_about_people(client: FlaskClient) -> None:
    for address, is_kept in (
        ("/requirements", True),
        ("/places/desk", True),
        ("/assessments", False),
        ("/duties", False),
    ):
        assert ("no-store" not in client.get(address).headers["Cache-Control"]) == is_kept, address


def test_a_list_goes_on_from_page_to_page(writer: FlaskClient) -> None:
    first = writer.get("/requirements")
    assert "; page 1 of " in first.text
    assert "/requirements?page=2" in list_links(first.text)
    second = writer.get("/requirements?page=2&role=operator")
    assert "/requirements?role=operator" in list_links(second.text)


@pytest.mark.parametrize("asked", ["colour=red", "weight=heavy", "page=0", "weight=1&weight=2"])
def test_a_wrong_filter_is_told_by_its_name(client: FlaskClient, asked: str) -> None:
    page = client.get(f"/requirements?{asked}")
    assert page.status_code == 422
    assert asked.partition("=")[0] in page.text


@by_path(SHOWN)
def test_a_record_is_shown_with_its_acts_and_without_ids_where_names_are(
    writer: FlaskClient, graph: LiveGraph, case: Case
) -> None:
    assert writer.post(f"/api/{case.path}", json=case.new).status_code == 201
    address = build_record_address(case.path.replace("-", "_"), unquote(case.new_id))
    page = writer.get(address)
    assert page.status_code == 200, page.text
    links = list_links(page.text)
    assert f"/edit{address}" in links
    assert f"/remove{address}" in links
    table = COLLECTIONS[case.path.replace("-", "_")].table
    for column in table.columns:
        if column.kind == "ref" and case.new.get(column.name):
            assert build_record_address(column.refers_to, case.new[column.name]) in links
    assert page.text.count("<h1>") == 1


@by_path([case for case in SHOWN if case.referred])
def test_a_record_names_what_refers_to_it(client: FlaskClient, case: Case) -> None:
    links = list_links(client.get(build_record_address(case.path.replace("-", "_"), case.referred)).text)
    table, record_id = case.referrer.split("/", 1)
    assert build_record_address(table, record_id) in links


def test_remarks_after_storing_stand_on_the_page_of_the_record(writer: FlaskClient) -> None:
    body = {"role": "helper", "competency": "valve", "level": 4, "entry_level": 0, "unsupervised_level": 0}
    stored = writer.post("/api/requirements", json=body)
    assert (stored.status_code, "Newel-Remarks" in stored.headers) == (201, True)
    page = read_page(writer.get("/requirements/helper~valve").text)
    said = "".join(page.text)
    assert "Findings on this record" in said
    assert "First-day level: The full level 4 is more than 2 above the entry level 0" in said


@pytest.mark.parametrize(
    ("path", "body", "said"),
    [
        ("roles", {"id": "empty", "label": "Empty"}, "Has no requirements: nothing leads to it"),
        ("courses", {"id": "idle", "label": "Idle", "hours": 1}, "Has no outcomes: no learning path will use it"),
        ("competencies", {"id": "card", "label": "Card", "scale": "held", "kind": "certificate"}, "Has no validity"),
        ("sessions", {"id": "old", "course": "pump-3", "from": "2020-01-06"}, "Ended on 6 January 2020"),
    ],
)
def test_pages_of_every_kind_tell_what_was_found_on_their_record(
    writer: FlaskClient, path: str, body: dict[str, Any], said: str
) -> None:
    assert writer.post(f"/api/{path}", json=body).status_code == 201
    text = "".join(read_page(writer.get(f"/{path}/{body['id']}").text).text)
    assert "Findings on this record" in text
    assert said in text


def test_an_unknown_record_and_a_word_that_is_no_id_give_404(client: FlaskClient) -> None:
    for address in ("/places/nowhere", "/requirements/operator", "/duties/a~b~c", "/edit/roles/nobody", "/nothing"):
        assert client.get(address).status_code == 404, address


def test_what_hangs_on_a_record_can_be_added_with_its_id_filled_in(client: FlaskClient) -> None:
    assert "/new/duties?place=desk" in list_links(client.get("/places/desk").text)


def test_who_may_be_told_by_name_alone_is_named_in_a_cell() -> None:
    snapshot, table = Snapshot({}), TABLES["assessments"]
    snapshot.also_named = {"p9": "Nora Vale"}
    make = make_cells(snapshot, table, next(column for column in table.columns if column.name == "assessor"))
    assert make(SimpleNamespace(assessor="p9")) == "Nora Vale"
    assert make(SimpleNamespace(assessor="the examiner")) == "the examiner"
