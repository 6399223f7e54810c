"""What is sent is a text and nothing more: quotes, queries and line breaks in every parameter and in every id."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from flask import Flask
from flask.testing import FlaskClient
from rest_company import ASKED

from api.desk.parameters import list_parameters
from api.http.context import EXTENSION
from api.questions import load_question
from ontology.live.live_graph import LiveGraph

#: What would leave a text of SPARQL, of SQL, of a header or of a log, if it were put into one as it is.
HOSTILE = (
    "x\"' } ; DROP ALL ; INSERT DATA { <urn:zq> <urn:zq> 1 } #",
    "x') OR 1=1; DROP TABLE accounts; --",
    "x\r\nSet-Cookie: zq=1\r\n\r\nzq",
)


def ask(client: FlaskClient, address: str) -> None:
    """Ask, and hold it that nothing but an answer or a refusal came of it."""
    response = client.get(address)
    assert response.status_code < 500, address
    assert response.headers.getlist("Set-Cookie") == [], address
    assert "zq" not in {name.lower() for name, _ in response.headers}


@pytest.mark.parametrize("name", ASKED)
def test_what_is_sent_as_a_parameter_is_a_text_and_nothing_more(
    name: str, writable_app: Flask, shared_graph: LiveGraph
) -> None:
    writable_app.extensions[EXTENSION].graph = shared_graph
    client, (path, _, query) = writable_app.test_client(), ASKED[name].partition("?")
    before = (shared_graph.get_snapshot().revision, len(shared_graph.get_snapshot().people))
    (asks, *_) = load_question(name).asks.values()
    asked = dict(pair.split("=", 1) for pair in query.split("&") if pair)
    for parameter in list_parameters(asks):
        for hostile in HOSTILE:
            sent = asked | {parameter.name: hostile}
            ask(client, f"/api{path}?" + "&".join(f"{key}={quote(text)}" for key, text in sent.items()))
    assert (shared_graph.get_snapshot().revision, len(shared_graph.get_snapshot().people)) == before


@pytest.mark.parametrize("name", ["levels", "coverage", "holders", "demand", "similar", "proof", "effect"])
def test_what_is_sent_as_an_id_is_nobodys(name: str, client: FlaskClient) -> None:
    path = ASKED[name].partition("?")[0].split("/")
    for hostile in HOSTILE:
        address = "/".join([*path[:2], quote(hostile, safe=""), *path[3:]])
        assert client.get(f"/api{address}").status_code == 404
        ask(client, address)
