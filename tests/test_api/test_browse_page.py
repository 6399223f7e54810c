"""The OpenAPI document can be browsed with what this server holds: no other host is asked, no script runs inline."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient

from api.http import browse_page as browse


def load(client: FlaskClient, address: str) -> tuple[int, str, str]:
    """Return status, media type and text of what is at an address; its file is closed."""
    with client.get(address) as response:
        return response.status_code, response.mimetype, response.get_data(as_text=True)


def test_the_page_loads_only_from_this_server(client: FlaskClient) -> None:
    for address in ("/api/browse/", "/api/browse"):
        page = client.get(address)
        assert (page.status_code, page.mimetype) == (200, "text/html")
    loaded = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert all(re.match("/(?!/)|#", target) for target in loaded), loaded
    assert "<script>" not in page.text
    assert not re.search(r"\son\w+=|style=", page.text)
    for target in loaded:
        if target.startswith("/"):
            assert load(client, target)[0] == 200, target


def test_the_policy_lets_nothing_in_from_elsewhere(client: FlaskClient) -> None:
    policy = client.get("/api/browse/").headers["Content-Security-Policy"]
    sources = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert sources["default-src"] == "'none'"
    assert {sources[name] for name in ("script-src", "style-src", "connect-src")} == {"'self'"}
    assert "http" not in policy
    assert "unsafe" not in policy
    assert "script-src 'self';" in client.get("/").headers["Content-Security-Policy"], "the other pages run our own"


def test_the_viewer_is_served_from_its_package(client: FlaskClient) -> None:
    _, media_type, script = load(client, f"/api/browse/files/{browse.SCRIPT}")
    assert "javascript" in media_type
    assert "SwaggerUIBundle" in script
    assert load(client, f"/api/browse/files/{browse.STYLE}")[:2] == (200, "text/css")
    for name in ("index.html", "VERSION", "oauth2-redirect.html", "..%2f__init__.py", "../__init__.py"):
        assert client.get(f"/api/browse/files/{name}").status_code == 404, name


def test_our_script_opens_our_own_document(client: FlaskClient) -> None:
    assert 'data-document="/api/openapi.json"' in client.get("/api/browse/").text
    script = load(client, "/static/browse.js")[2]
    assert "validatorUrl: null" in script
    assert "http" not in script


def test_without_the_package_the_page_says_so(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(browse, "PACKAGE", "a_package_that_is_not_there")
    page = client.get("/api/browse/")
    assert page.status_code == 200
    assert "pip install flask-swagger-ui" in page.text
    assert "/api/openapi.json" in page.text
    assert "<script" not in page.text
    assert client.get(f"/api/browse/files/{browse.SCRIPT}").status_code == 404


def test_the_index_names_the_page(client: FlaskClient) -> None:
    assert (client.get("/api/").json or {})["browse"] == "/api/browse/"
