"""Errors are problem documents (RFC 9457) under /api and plain pages elsewhere; faults tell only a request id."""

from __future__ import annotations

import logging
import threading
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from rest_company import build_company

from api.app import create_app
from api.errors import ERROR_TABLE, build_problem, get_exit_code, get_kind
from api.questions.person import gap
from ontology import errors
from ontology.live.live_graph import LiveGraph

ROLE = {"id": "welder", "label": "Welder"}


@pytest.mark.parametrize(
    ("method", "address", "status"),
    [
        ("GET", "/api/nothing", 404),
        ("GET", "/api/roles/nobody", 404),
        ("GET", "/api/roles/helper?format=xml", 406),
        ("PATCH", "/api/roles/helper", 405),
        ("DELETE", "/api/roles", 405),
        ("POST", "/api/people/p1/gap?role=operator", 405),
        ("POST", "/api/roles", 415),
        ("PUT", "/api/roles/helper", 415),
        ("DELETE", "/api/roles/helper", 428),
        ("GET", "/api/roles?page=x", 422),
    ],
)
def test_every_error_is_a_problem_document(client: FlaskClient, method: str, address: str, status: int) -> None:
    response = client.open(address, method=method)
    assert (response.status_code, response.mimetype) == (status, "application/problem+json")
    problem = response.json
    assert problem is not None
    assert problem["status"] == status
    assert problem["title"]
    assert problem["detail"]
    assert problem["type"] == "about:blank" or problem["type"].startswith("http://localhost/problems#")
    assert problem["instance"] == address.partition("?")[0]
    assert response.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    "address", ["/", "/api/roles", "/api/nowhere", "/static/newel.css", "/health/ready", "/problems"]
)
def test_every_response_keeps_others_away(client: FlaskClient, address: str) -> None:
    with client.get(address) as response:
        headers = response.headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "camera=()" in headers["Permissions-Policy"]
    assert "Access-Control-Allow-Origin" not in headers
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")


def test_a_method_that_is_not_possible_says_which_are(client: FlaskClient) -> None:
    response = client.patch("/api/roles/helper")
    assert {"GET", "PUT", "DELETE"} <= set(response.headers["Allow"].split(", "))


def test_every_kind_of_problem_is_explained_where_its_type_points(client: FlaskClient) -> None:
    page = client.get("/problems").text
    for kind in ERROR_TABLE.values():
        assert f'id="{kind.name}"' in page


@pytest.mark.parametrize(
    ("body", "content_type", "status"),
    [
        (b"", "application/json", 400),
        (b"{", "application/json", 400),
        (b'{"id": "welder", "label": "W\xff"}', "application/json", 400),
        (b'{"id": "welder", "label": NaN}', "application/json", 400),
        (b'{"id": "welder", "months_to_full": -Infinity}', "application/json", 400),
        (b'{"id": "welder", "id": "welder", "label": "W"}', "application/json", 400),
        (b"[" * 19_000, "application/json", 400),
        (b'{"id": "welder", "label": "\\ud800"}', "application/json", 422),
        (b'{"id": "welder", "label": "a\\u0000b"}', "application/json", 422),
        (b'{"id": "welder", "label": "W", "months_to_full": 1e400}', "application/json", 422),
        (b'{"id": "welder", "label": "W", "months_to_full": 99999999999999999999}', "application/json", 422),
        (b'{"id": "welder", "label": "W", "months_to_full": true}', "application/json", 422),
        (b'{"id": "welder", "label": "W", "months_to_full": "12"}', "application/json", 422),
        (b'{"id": "we lder", "label": "W"}', "application/json", 422),
        (b'{"id": "w~e", "label": "W"}', "application/json", 422),
        (b'{"id": "welder", "label": "  "}', "application/json", 422),
        (b'{"id": "welder", "label": null}', "application/json", 422),
        (b"[]", "application/json", 422),
        (b'"welder"', "application/json", 422),
        (b"null", "application/json", 422),
        (b"id=welder", "application/x-www-form-urlencoded", 415),
        (b'{"id": "welder", "label": "W"}', "text/plain", 415),
        (b'{"id": "welder", "label": "W"}', "application/ld+json", 415),
        (b'{"id": "welder", "label": "W"}', "", 415),
        (b'{"label": "' + b"x" * 20_000 + b'"}', "application/json", 413),
    ],
)
def test_a_body_that_cannot_be_taken(
    writer: FlaskClient, graph: LiveGraph, body: bytes, content_type: str, status: int
) -> None:
    for method, address in (("POST", "/api/roles"), ("PUT", "/api/roles/welder")):
        response = writer.open(
            address, method=method, data=body, content_type=content_type, headers={"If-None-Match": "*"}
        )
        assert (response.status_code, response.mimetype) == (status, "application/problem+json"), response.text
    assert graph.get_snapshot().revision == 1


def test_a_body_with_a_charset_is_read(writer: FlaskClient) -> None:
    response = writer.post(
        "/api/roles",
        data='{"id": "welder", "label": "Schweißer"}'.encode(),
        content_type="application/json; charset=utf-8",
    )
    assert response.status_code == 201
    assert response.json is not None
    assert response.json["label"] == "Schweißer"


def test_null_stands_for_the_default_of_a_member_that_may_be_left_out(writer: FlaskClient) -> None:
    response = writer.post("/api/roles", json=ROLE | {"months_to_full": None, "family": None})
    assert response.status_code == 201
    assert response.json == ROLE | {
        "family": "",
        "definition": "",
        "months_to_full": 12,
        "exact_match": [],
        "retired_on": None,
    }


def test_rules_between_records_are_findings(writer: FlaskClient) -> None:
    for path, body, pointer in (
        ("requirements", {"role": "helper", "competency": "licence", "level": 2}, "/level"),
        ("requirements", {"role": "nobody", "competency": "licence", "level": 1}, "/role"),
        ("requirements", {"role": "helper", "competency": "valve", "level": 2, "entry_level": 3}, "/entry_level"),
        ("competencies", {"id": "x", "label": "X", "scale": "nothing"}, "/scale"),
    ):
        response = writer.post(f"/api/{path}", json=body)
        assert (response.status_code, response.mimetype) == (422, "application/problem+json"), response.text
        assert response.json is not None
        assert pointer in [entry["pointer"] for entry in response.json["errors"]]


def test_remarks_come_with_what_was_stored(writer: FlaskClient) -> None:
    response = writer.post("/api/roles", json=ROLE)
    assert response.status_code == 201
    assert "no requirements" in response.headers["Newel-Remarks"]


def test_a_fault_is_logged_and_tells_only_its_request_id(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError("the secret of the cellar")

    monkeypatch.setattr(gap, "compute_gap", fail)
    with caplog.at_level(logging.ERROR):
        # a day nobody else asks about: an answer that is kept would not fail
        response = client.get("/api/people/p1/gap?role=operator&on=2001-01-01")
    assert (response.status_code, response.mimetype) == (500, "application/problem+json")
    assert response.json is not None
    assert "secret" not in response.text
    assert response.json["request_id"] in response.json["detail"]
    assert response.json["request_id"] in caplog.text
    assert "the secret of the cellar" in caplog.text


def test_outside_the_api_errors_are_pages(client: FlaskClient) -> None:
    for address, status in (("/nothing", 404), ("/apiary", 404), ("/static/nothing.css", 404)):
        response = client.get(address)
        assert (response.status_code, response.mimetype) == (status, "text/html")
        assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    assert client.post("/").mimetype == "text/html"


def test_one_table_tells_status_and_exit_code() -> None:
    told = {
        errors.InputError("x"): (422, 2),
        errors.FindingsError("x", []): (422, 1),
        errors.FileFormatError("x"): (415, 1),
        errors.LimitError("x"): (413, 1),
        errors.UnknownIdError("roles", "x"): (404, 1),
        errors.ConflictError("x"): (409, 1),
        errors.StaleError("x"): (412, 1),
        errors.PreconditionMissingError("x"): (428, 1),
        errors.ForbiddenError("x"): (403, 1),
        errors.StoreLockedError("x"): (503, 3),
        errors.ProgramMissingError("x"): (503, 3),
        errors.SolverError("x"): (500, 1),
        ValueError("x"): (500, 1),
    }
    assert {error: (get_kind(error).status, get_exit_code(error)) for error in told} == told


def test_every_error_class_has_a_status() -> None:
    classes = [errors.NewelError]
    while classes:
        found = classes.pop()
        classes += found.__subclasses__()
        assert any(base in ERROR_TABLE for base in found.__mro__)
    problem = build_problem(errors.UnknownIdError("roles", "x"))
    assert (problem["table"], problem["id"], problem["status"]) == ("roles", "x", 404)


def test_of_many_changes_to_one_state_one_wins(writable_app: Flask, graph: LiveGraph) -> None:
    """The check of If-Match and the write are one step: no change is lost."""
    app = create_app(graph)
    etag = app.test_client().get("/api/roles/helper").headers["ETag"]
    statuses: list[int] = []
    begin = threading.Barrier(8)

    def change(number: int) -> None:
        begin.wait()
        body = {"label": f"Helper {number}"}
        response = app.test_client().put("/api/roles/helper", json=body, headers={"If-Match": etag})
        statuses.append(response.status_code)

    threads = [threading.Thread(target=change, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [200] + [412] * 7
    assert graph.get_snapshot().revision == 2


def test_changes_for_any_state_all_come_through() -> None:
    graph = build_company()
    app = create_app(graph)
    statuses: list[int] = []

    def change(number: int) -> None:
        levels = [{"rank": rank, "label": f"{number}-{rank}"} for rank in range(1, 2 + number % 3)]
        response = app.test_client().put("/api/scales/unused", json={"levels": levels}, headers={"If-Match": "*"})
        statuses.append(response.status_code)

    threads = [threading.Thread(target=change, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses == [200] * 6
    levels = graph.get_snapshot().scales["unused"]
    (number,) = {level.label.split("-")[0] for level in levels}
    assert len(levels) == 1 + int(number) % 3
    graph.close()


@pytest.mark.parametrize(
    "address",
    [
        "/api/teams/works/cross-training",
        "/api/teams/works/cross-training/diagram",
        "/api/teams/works/training-timetable",
        "/api/teams/works/coverage-timeline",
        "/api/people/p1/schedule?role=operator",
        "/api/people/p1/schedule/diagram?role=helper",
        "/api/people/p2/schedule/diagram?role=operator",
        "/api/people/p1/development-plan?role=operator",
        "/api/company-cover",
        "/api/teams/works/rotation?purpose=relieve-strain",
    ],
)
@pytest.mark.parametrize("day", ["9999-12-31", "9999-12-26", "0001-01-01"])
def test_the_ends_of_the_calendar_are_no_fault_of_the_program(client: FlaskClient, address: str, day: str) -> None:
    response = client.get(address + ("&" if "?" in address else "?") + f"on={day}")
    if response.status_code != 200 and response.status_code != 503:
        assert response.status_code == 422, response.text
        assert (response.json or {})["errors"][0]["parameter"], response.text
