"""The OpenAPI document is valid, names every path, and every answer is what it says."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from rest_company import ANSWERS

from api.http.collection import COLLECTIONS

Document = dict[str, Any]


@pytest.fixture(scope="module")
def document(shared_app: Flask) -> Document:
    """Return the document as it is served."""
    response = shared_app.test_client().get("/api/openapi.json")
    assert (response.status_code, response.mimetype) == (200, "application/json")
    return dict(response.json or {})


def build_validator(document: Document, schema: Document) -> Draft202012Validator:
    """Return a validator of a schema whose references point into the document."""
    return Draft202012Validator({"components": document["components"], **schema})


def get_success(document: Document, path: str, method: str = "get") -> Document:
    """Return the schema of the JSON body an operation answers with."""
    responses = document["paths"][path][method]["responses"]
    status = next(code for code in responses if code.startswith("2"))
    return dict(responses[status]["content"]["application/json"]["schema"])


def test_the_document_is_valid_openapi(document: Document) -> None:
    assert document["openapi"].startswith("3.")
    validate(document)


def test_every_path_is_described(document: Document, shared_app: Flask) -> None:
    served = {
        re.sub(r"<(?:path:)?(\w+)>", r"{\1}", rule.rule).rstrip("/") or "/"
        for rule in shared_app.url_map.iter_rules()
        if rule.rule.startswith("/api/") and not rule.rule.startswith(("/api/openapi.json", "/api/browse/"))
    }
    assert {path.rstrip("/") for path in document["paths"]} == served


def test_every_operation_names_its_errors_as_problem_documents(document: Document) -> None:
    for path, operations in document["paths"].items():
        for method in ("get", "post", "put", "delete"):
            if method not in operations:
                continue
            responses = operations[method]["responses"]
            assert "422" in responses, (path, method)
            assert operations[method]["summary"]
            for code, response in responses.items():
                if code[0] in "45d":
                    name = response["$ref"].rsplit("/", 1)[1]
                    assert list(document["components"]["responses"][name]["content"]) == ["application/problem+json"]
            if "{id}" in path and (method, path.split("/")[2]) != ("put", path.split("/")[2]):
                assert "404" in responses, (path, method)


def test_writes_say_what_they_want(document: Document) -> None:
    for collection in COLLECTIONS.values():
        item = document["paths"][f"/api/{collection.name}/{{id}}"]
        names = {parameter.get("name") for parameter in item["put"]["parameters"]}
        assert {"If-Match", "If-None-Match"} <= names
        assert {"412", "428"} <= set(item["put"]["responses"]) & set(item["delete"]["responses"])
        schema = item["put"]["requestBody"]["content"]["application/json"]["schema"]
        assert schema["$ref"].startswith("#/components/schemas/")


@pytest.mark.parametrize("address", ANSWERS)
def test_every_answer_is_as_described(client: FlaskClient, document: Document, address: str) -> None:
    path = re.sub(r"^/api/(\w+)/[\w-]+/([a-z-]+).*", r"/api/\1/{id}/\2", address).partition("?")[0]
    validator = build_validator(document, get_success(document, path))
    answer = client.get(address).json
    assert [error.message for error in validator.iter_errors(answer)] == []
    # the description is no blank cheque: every member is described, and every one described is there
    assert isinstance(answer, dict)
    for name in answer:
        if name not in ("person", "from_role"):
            missing = {key: value for key, value in answer.items() if key != name}
            assert list(validator.iter_errors(missing)) != [], name
    assert list(validator.iter_errors({**answer, "more": 1})) != []


@pytest.mark.parametrize("name", sorted(COLLECTIONS))
def test_every_record_is_as_described(client: FlaskClient, document: Document, name: str) -> None:
    collection = COLLECTIONS[name]
    listed = client.get(f"/api/{collection.name}").json or []
    assert listed != []
    validator = build_validator(document, get_success(document, f"/api/{collection.name}"))
    assert [error.message for error in validator.iter_errors(listed)] == []
    assert list(validator.iter_errors([{**listed[0], "more": 1}])) != []
    one = build_validator(document, get_success(document, f"/api/{collection.name}/{{id}}"))
    assert list(one.iter_errors(listed[0])) == []


def test_the_index_leads_everywhere(client: FlaskClient, document: Document) -> None:
    for address in ("/api/", "/api"):
        index = client.get(address).json
        assert index is not None
        assert list(build_validator(document, get_success(document, "/api/")).iter_errors(index)) == []
        for entry in index["collections"]:
            assert len(client.get(entry["href"] + "?page_size=1000").json or []) == entry["count"]
        for template in (*index["answers"].values(), *index["diagrams"].values()):
            assert template.partition("{?")[0] in document["paths"]
            asked = set(template.partition("{?")[2].rstrip("}").split(","))
            path = document["paths"][template.partition("{?")[0]]["get"]
            known = {parameter["name"] for parameter in path["parameters"] if parameter["in"] == "query"}
            assert asked | {"format"} == known


def test_health_says_the_revision(client: FlaskClient) -> None:
    assert client.get("/api/health").json == {"status": "ok", "revision": 1}
