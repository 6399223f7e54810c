"""Only this machine is served, under its own names, and only our own pages change anything."""

from __future__ import annotations

from typing import Any

import pytest
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient
from loopback import request_raw, serve

from api.http.origins import is_loopback_host
from api.terminal.program import program

#: Always this machine: RFC 6761 (localhost), RFC 1122 (127.0.0.0/8), RFC 4291 (::1).
OURS = [
    "localhost",
    "LocalHost:8000",
    "localhost.",
    "localhost:",
    "127.0.0.1",
    "127.0.0.1:80",
    "127.8.9.10:5000",
    "[::1]",
    "[::1]:8000",
    "[0:0:0:0:0:0:0:1]:8000",
]
FOREIGN = [
    "",
    "example.org",
    "example.org:8000",
    "localhost.example.org",
    "127.0.0.1.example.org",
    "127.0.0.1@example.org",
    "example.org#127.0.0.1",
    "localhost,example.org",
    "localhost example.org",
    "localhost:8000:9000",
    "localhost:port",
    "localhost:-1",
    "localhost/..",
    "::1",
    "[::1",
    "[::2]:8000",
    "0.0.0.0",
    "192.168.0.7",
    "2130706433",
    "127.1",
    "0x7f.0.0.1",
    "127.0.0.256",
    "lоcalhost",  # a Cyrillic letter
    "１27.0.0.1",  # a full-width digit
    "x" * 5000,
]


@pytest.mark.parametrize("host", OURS)
def test_names_of_this_machine_are_served(client: FlaskClient, host: str) -> None:
    assert client.get("/api/roles", headers={"Host": host}).status_code == 200
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("host", FOREIGN)
def test_any_other_name_is_misdirected(host: str) -> None:
    assert not is_loopback_host(host)


@pytest.mark.parametrize("path", ["/api/roles", "/api/nowhere", "/", "/static/newel.css", "/nowhere"])
@pytest.mark.parametrize("host", ["example.org:8000", "127.0.0.1.example.org", "localhost:8000:9000"])
def test_a_page_that_points_its_name_here_reads_nothing(client: FlaskClient, path: str, host: str) -> None:
    response = client.get(path, headers={"Host": host})
    assert response.status_code == 421
    if path.startswith("/api"):
        assert response.mimetype == "application/problem+json"
        problem: dict[str, Any] = response.json or {}
        assert (problem["status"], problem["type"]) == (421, "/problems#misdirected")
        assert "localhost" in problem["detail"]
    assert "example.org" not in response.headers.get("Location", "")


def test_a_request_of_old_without_a_host_is_served(shared_app: Flask) -> None:
    """RFC 1945 (HTTP/1.0) has no Host; every browser sends one."""
    with serve(shared_app, threads=2) as port:
        assert b" 200 " in request_raw(port, b"GET /api/health HTTP/1.0\r\n\r\n").split(b"\r\n")[0]
        foreign = b"GET /api/health HTTP/1.1\r\nHost: example.org\r\nConnection: close\r\n\r\n"
        assert b" 421 " in request_raw(port, foreign).split(b"\r\n")[0]
        twice = b"GET /api/health HTTP/1.1\r\nHost: localhost\r\nHost: example.org\r\nConnection: close\r\n\r\n"
        assert b" 200 " not in request_raw(port, twice).split(b"\r\n")[0]


ROLE = {"id": "new", "label": "New"}
OWN_ORIGIN = [
    ("localhost", "http://localhost"),
    ("localhost:80", "http://localhost"),
    ("localhost:8000", "http://LOCALHOST:8000"),
    ("127.0.0.1:8000", "http://127.0.0.1:8000"),
    ("[::1]:8000", "http://[::1]:8000"),
    ("[::1]", "http://[::1]:80"),
]
FOREIGN_ORIGIN = [
    ("localhost:8000", "http://example.org"),
    ("localhost:8000", "http://localhost:3000"),
    ("localhost:8000", "http://localhost"),
    ("localhost:8000", "http://127.0.0.1:8000"),
    ("localhost:8000", "https://localhost:8000"),
    ("localhost:8000", "http://localhost:8000.example.org"),
    ("localhost:8000", "http://localhost:8000, http://example.org"),
    ("localhost:8000", "null"),
    ("localhost:8000", ""),
]


@pytest.mark.parametrize(("host", "origin"), OWN_ORIGIN)
@pytest.mark.parametrize("site", ["same-origin", "none", None])
def test_our_own_pages_may_change_records(writer: FlaskClient, host: str, origin: str, site: str | None) -> None:
    headers = {"Host": host, "Origin": origin} | ({"Sec-Fetch-Site": site} if site else {})
    assert writer.post("/api/roles", json=ROLE, headers=headers).status_code == 201


@pytest.mark.parametrize(("host", "origin"), FOREIGN_ORIGIN)
def test_a_page_of_another_origin_changes_nothing(writer: FlaskClient, host: str, origin: str) -> None:
    headers = {"Host": host, "Origin": origin, "If-Match": "*"}
    for ask in (writer.post, writer.put, writer.delete, writer.patch):
        response = ask("/api/roles/helper", json=ROLE, headers=headers)
        assert (response.status_code, response.mimetype) == (403, "application/problem+json")
    assert writer.get("/api/roles/helper", headers=headers).status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site", "Same-Origin", ""])
def test_a_browser_that_says_another_site_asks_is_believed(writer: FlaskClient, site: str) -> None:
    response = writer.post("/api/roles", json=ROLE, headers={"Sec-Fetch-Site": site})
    assert (response.status_code, (response.json or {})["title"]) == (403, "Not allowed")
    assert writer.get("/api/roles/new").status_code == 404


def test_programs_that_are_no_browsers_say_neither(writer: FlaskClient) -> None:
    assert writer.post("/api/roles", json=ROLE).status_code == 201


def test_serve_listens_on_this_machine_only() -> None:
    for host in ("0.0.0.0", "192.168.0.7", "example.org", "::"):
        result = CliRunner().invoke(program, ["serve", "--open", "--host", host])
        assert (result.exit_code, "this machine only" in result.output) == (2, True)
