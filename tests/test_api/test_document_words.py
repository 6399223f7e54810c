"""What the OpenAPI document says of parameters, ids and statuses holds when it is tried."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from rest_company import ANSWERS

from api.app import create_app
from api.http.collection import COLLECTIONS
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.model.columns import LONGEST_ID

Document = dict[str, Any]


@pytest.fixture(scope="module")
def document(shared_app: Flask) -> Document:
    """Return the document as it is served."""
    return dict(shared_app.test_client().get("/api/openapi.json").json or {})


def iterate_parameters(document: Document) -> list[tuple[str, Document]]:
    """Return every parameter of every GET, with its path."""
    found: list[tuple[str, Document]] = []
    for path, operations in document["paths"].items():
        shared = operations.get("parameters", [])
        got = operations.get("get", {})
        found += [(path, parameter) for parameter in (got.get("parameters", []) + shared if got else [])]
    return found


def test_a_default_is_a_value_that_can_be_sent(document: Document) -> None:
    for path, parameter in iterate_parameters(document):
        schema = parameter["schema"]
        assert isinstance(schema["type"], str), (path, parameter["name"])
        assert schema.get("default", "") is not None, (path, parameter["name"])
        assert "frozenset" not in str(schema.get("default")), (path, parameter["name"])
        assert schema.get("default") != "()", (path, parameter["name"])


@pytest.mark.parametrize("address", ANSWERS)
def test_asking_with_every_default_asks_the_same(client: FlaskClient, document: Document, address: str) -> None:
    path = re.sub(r"^/api/(\w+)/[\w-]+/([a-z-]+).*", r"/api/\1/{id}/\2", address).partition("?")[0]
    given = dict(part.split("=") for part in address.partition("?")[2].split("&") if part)
    defaults = {
        parameter["name"]: parameter["schema"]["default"]
        for where, parameter in iterate_parameters(document)
        if where == path and parameter["in"] == "query" and "default" in parameter["schema"]
    }
    answer = client.get(address.partition("?")[0], query_string={**defaults, **given})
    assert answer.status_code == 200, answer.text
    assert answer.json == client.get(address).json


def test_every_parameter_is_described(document: Document) -> None:
    for path, parameter in iterate_parameters(document):
        assert parameter.get("description"), (path, parameter["name"])


def find_limits(document: Document, name: str) -> set[tuple[Any, Any, Any]]:
    """Return least, default and most of a parameter, wherever it can be sent."""
    schemas = [parameter["schema"] for _, parameter in iterate_parameters(document) if parameter["name"] == name]
    return {(schema.get("minimum"), schema.get("default"), schema.get("maximum")) for schema in schemas}


def test_the_document_tells_the_limits_of_the_running_application(document: Document, shared_graph: LiveGraph) -> None:
    settings = Settings(time_limit_default_s=2.5, time_limit_max_s=90, page_size_default=3, page_size_max=7)
    client = create_app(shared_graph, settings).test_client()
    other = dict(client.get("/api/openapi.json").json or {})
    assert find_limits(document, "time_limit") == {(0.01, 10, 60)}
    assert find_limits(other, "time_limit") == {(0.01, 2.5, 90)}
    assert find_limits(document, "page_size") == {(1, 50, 1000)}
    assert find_limits(other, "page_size") == {(1, 3, 7)}
    # what is told is what holds
    assert len(client.get("/api/roles").json or []) == 3
    for address, most, beyond in (("/api/roles?page_size=", "7", "8"), ("/api/company-cover?time_limit=", "90", "91")):
        assert client.get(address + most).status_code == 200
        refused = client.get(address + beyond)
        assert (refused.status_code, most in (refused.json or {})["detail"]) == (422, True)


def test_filters_say_what_a_value_looks_like(document: Document) -> None:
    told = {parameter["name"]: parameter["description"] for _, parameter in iterate_parameters(document)}
    assert "a date like" in told["valid_until"]
    assert "blocking, essential, desirable" in told["necessity"]


@pytest.mark.parametrize("name", [name for name, c in COLLECTIONS.items() if len(c.key_names) == 1])
def test_an_id_with_a_slash_is_a_documented_404(writer: FlaskClient, document: Document, name: str) -> None:
    path = f"/api/{COLLECTIONS[name].name}"
    response = writer.put(f"{path}/a%2Fb", json={}, headers={"If-None-Match": "*"})
    assert response.status_code == 404
    assert "404" in document["paths"][f"{path}/{{id}}"]["put"]["responses"]


def test_an_id_is_short_enough_for_a_header(writer: FlaskClient) -> None:
    longest = "x" * LONGEST_ID
    made = writer.post("/api/roles", json={"id": longest, "label": "L"})
    assert made.status_code == 201
    assert writer.get(made.headers["Location"]).status_code == 200
    refused = writer.post("/api/roles", json={"id": longest + "x", "label": "L"})
    assert refused.status_code == 422
    assert [(e["pointer"], e["reason"]) for e in refused.json["errors"]] == [
        ("/id", f"must be at most {LONGEST_ID} characters long")
    ]


def test_a_text_in_an_id_is_short_enough_for_a_header(writer: FlaskClient) -> None:
    body = {"person": "p1", "competency": "pump", "level": 1, "date": "2026-03-01", "source": "assessor"}
    longest = "ü" * LONGEST_ID
    made = writer.post("/api/assessments", json={**body, "assessor": longest})
    assert made.status_code == 201
    assert len(made.headers["Location"]) < 65_536
    refused = writer.post("/api/assessments", json={**body, "assessor": longest + "x"})
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, "/assessor")
    # a text that is no part of an id may be as long as the body allows
    assert writer.post("/api/roles", json={"id": "r", "label": "L" * 5000}).status_code == 201


@pytest.mark.parametrize("assessor", ["Board\nNorth", "a\r\nb", "a//b", "..", "a/../b", "100 %2F ?#;", "\u2028", "~"])
def test_what_was_made_is_found_where_its_location_says(writer: FlaskClient, assessor: str) -> None:
    body = {"person": "p1", "competency": "pump", "level": 1, "date": "2026-03-01", "source": "assessor"}
    made = writer.post("/api/assessments", json={**body, "assessor": assessor})
    assert made.status_code == 201, made.text
    read = writer.get(made.headers["Location"])
    assert (read.status_code, read.json) == (200, made.json)
    removed = writer.delete(made.headers["Location"], headers={"If-Match": made.headers["ETag"]})
    assert removed.status_code == 204
