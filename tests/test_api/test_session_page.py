"""The page of a session: who has a seat, who waits, and the form that enters results as PUT does."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from flask.testing import FlaskClient
from html_forms import find_form
from small_class import CLASS_ROWS

from api.app import create_app
from api.http.actors import COOKIE
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

PAGE, RESULTS = "/sessions/s1", "/api/sessions/s1/results"
ENTERED = {f"attended.{i}": "yes" for i in "abc"} | {f"passed.{i}": "yes" for i in "ab"} | {"passed.c": "no"}
ENTERED |= {"attended.d": "no", "passed.d": ""}


def build_client() -> FlaskClient:
    graph = LiveGraph.in_memory()
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in CLASS_ROWS.items()}
    graph.load(records, who="test", why="a class")
    return create_app(graph).test_client()


@pytest.fixture
def client() -> FlaskClient:
    return build_client()


def list_told(client: FlaskClient) -> dict[str, Any]:
    answer = client.get(RESULTS).json
    assert answer is not None
    return {row["person"]: (row["attended"], row["passed"]) for row in answer["rows"]}


def test_the_page_names_who_has_a_seat_and_who_waits(client: FlaskClient) -> None:
    page = client.get(PAGE).text
    assert "4 people have a seat, 1 person waits" in page
    assert "recorded with First aid at level 1" in page
    assert "no results are entered" in page
    assert find_form(page).fields["attended.a"] == ""


def test_results_are_stored_as_put_stores_them(client: FlaskClient) -> None:
    fields = find_form(client.get(PAGE).text).fields | ENTERED
    response = client.post(PAGE, data=fields)
    assert (response.status_code, response.location) == (303, f"{PAGE}#stored")
    other = build_client()
    rows = [{"person": i, "attended": True, "passed": i != "c"} for i in "abc"]
    body = {"rows": [*rows, {"person": "d", "attended": False}]}
    assert other.put(RESULTS, json=body, headers={"If-Match": other.get(RESULTS).headers["ETag"]}).status_code == 200
    assert list_told(client) == list_told(other)
    page = client.get(PAGE).text
    assert "Held: 3 of 4 people with a seat were there, 2 passed." in page
    assert find_form(page).fields["attended.d"] == "no"


def test_who_is_not_told_of_stays_as_they_are(client: FlaskClient) -> None:
    fields = find_form(client.get(PAGE).text).fields | {"attended.a": "yes", "passed.a": "yes"}
    assert client.post(PAGE, data=fields).status_code == 303
    assert list_told(client)["b"] == (None, None)


def test_a_faulty_row_stores_none_and_is_marked(client: FlaskClient) -> None:
    fields = find_form(client.get(PAGE).text).fields | ENTERED | {"passed.d": "yes"}
    response = client.post(PAGE, data=fields)
    assert response.status_code == 422
    assert 'href="#attended-d"' in response.text
    assert find_form(response.text).fields["passed.a"] == "yes"
    assert set(list_told(client).values()) == {(None, None)}


def test_nobody_enters_their_own_level(client: FlaskClient) -> None:
    client.set_cookie(COOKIE, "a")
    response = client.post(PAGE, data=find_form(client.get(PAGE).text).fields | ENTERED)
    assert response.status_code == 422
    assert "nobody assesses themselves" in response.text


def test_results_that_someone_else_entered_meanwhile_are_not_lost(client: FlaskClient) -> None:
    fields = find_form(client.get(PAGE).text).fields
    assert client.post(PAGE, data=fields | {"attended.a": "yes"}).status_code == 303
    late = client.post(PAGE, data=fields | {"attended.a": "no"})
    assert late.status_code == 422
    assert "Someone entered results meanwhile" in late.text
    assert find_form(late.text).fields["attended.a"] == "no"
    assert list_told(client)["a"] == (True, False)
    assert client.post(PAGE, data=find_form(late.text).fields).status_code == 303


def test_nothing_entered_is_told(client: FlaskClient) -> None:
    response = client.post(PAGE, data=find_form(client.get(PAGE).text).fields)
    assert response.status_code == 422
    assert "Say of at least one person" in response.text


def test_an_unknown_session_is_not_found(client: FlaskClient) -> None:
    assert client.get("/sessions/none").status_code == 404
    assert client.post("/sessions/none").status_code == 404


def test_the_list_stands_in_the_order_of_days() -> None:
    graph = LiveGraph.in_memory()
    rows = [{"id": name, "course": "c", "from_date": dt.date(2027, month, 1)} for name, month in (("a", 3), ("b", 1))]
    courses = [TABLES["courses"].build(id="c", label="Pump care", hours=4)]
    sessions = [TABLES["sessions"].build(**row) for row in rows]
    graph.load({"courses": courses, "sessions": sessions}, who="test", why="two sessions")
    page = create_app(graph).test_client().get("/sessions").text
    assert page.index('href="/sessions/b"') < page.index('href="/sessions/a"')
