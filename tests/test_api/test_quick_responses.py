"""What is answered on the short way is answered as on the long one: headers, paths, questions that were put before."""

from __future__ import annotations

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient

from api.app import create_app
from api.http.quick_response import QuickResponse, add_headers
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

HEADERS = (("Content-Type", "application/json"), ("ETag", '"a"'), ("Vary", "Accept"))
COVER = "/api/teams/works/coverage"


@pytest.fixture
def client(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


@pytest.mark.parametrize("method", ["GET", "HEAD"])
@pytest.mark.parametrize("status", [200, 304])
def test_it_is_sent_as_flask_sends_its_own(method: str, status: int) -> None:
    content = b"{}" if status == 200 else b""
    headers = HEADERS if status == 200 else HEADERS[1:]
    app = Flask("both")
    app.add_url_rule("/quick", "quick", lambda: QuickResponse(content, headers, status))
    app.add_url_rule("/usual", "usual", lambda: Response(content, status, headers))
    app.after_request(lambda response: (add_headers(response, (("X-Own", "1"),)), response)[1])
    quick, usual = (app.test_client().open(path, method=method) for path in ("/quick", "/usual"))
    assert (quick.status, quick.data) == (usual.status, usual.data)
    assert sorted(quick.headers) == sorted(usual.headers)


def test_what_was_made_of_it_since_is_sent() -> None:
    app = Flask("changed")

    @app.get("/")
    def show() -> Response:
        response = QuickResponse(b"{}", HEADERS)
        response.set_data(b"other")
        response.status_code = 202
        return response

    told = app.test_client().get("/")
    assert (told.status_code, told.text, told.headers["Content-Length"]) == (202, "other", "5")


def test_a_path_asked_again_leads_to_the_same_and_one_that_leads_nowhere_stays_so(client: FlaskClient) -> None:
    for _ in range(2):
        assert client.get("/api/teams/works").json["id"] == "works"
        assert client.get("/api/teams/gone").status_code == 404
        assert client.get("/api/nothing").status_code == 404
        assert client.post("/api/teams/works").status_code == 405
        assert client.head("/api/teams/works").status_code == 200
        assert client.get("/api/teams/works", headers={"Host": "newel.example.org"}).status_code == 421


def test_a_question_put_before_is_answered_of_what_is_there_now(graph: LiveGraph, client: FlaskClient) -> None:
    """And one that was wrong is wrong each time."""
    first = client.get(COVER)
    assert client.get(COVER).data == first.data
    assert client.get(COVER, headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    for _ in range(2):
        assert client.get(f"{COVER}?away=nobody").status_code == 422
        assert client.get(f"{COVER}?on=2026-11-24&on=2026-11-25").status_code == 422
        assert client.get(f"{COVER}?language=de").headers["Content-Language"]
    need = graph.get_snapshot().get_cover_needs("works")[0]
    graph.apply(Change(remove=(("cover_needs", TABLES["cover_needs"].get_key(need)),)), who="test", why="")
    again = client.get(COVER, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 200
    assert len(again.json["needs"]) == len(first.json["needs"]) - 1
