"""The start page opens three doors on the data that are loaded, says its limits, and needs no script."""

from __future__ import annotations

import re
from html import unescape

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.pictures.render import is_available
from api.questions import _cautions as cautions
from ontology.live.live_graph import LiveGraph


def test_an_empty_store_says_how_to_load() -> None:
    graph = LiveGraph.in_memory()
    page = create_app(graph).test_client().get("/")
    graph.close()
    assert page.status_code == 200
    assert "newel load" in page.text
    assert "Nothing is loaded yet" in page.text


def test_every_address_on_the_page_answers(client: FlaskClient) -> None:
    page = client.get("/").text
    addresses = {unescape(address) for address in re.findall(r'(?:href|src)="([^"#]+)"', page)}
    assert len(addresses) > 20
    pictures = {address for address in addresses if "/diagram" in address}
    assert len(pictures) >= 5
    for address in sorted(addresses):
        assert address.startswith("/"), "nothing is loaded from elsewhere"
        expected = {200} if is_available() or address not in pictures else {200, 503}
        with client.get(address) as response:
            assert response.status_code in expected, address


def test_the_page_shows_examples_for_each_of_the_three(client: FlaskClient) -> None:
    page = client.get("/").text
    for name in ("architect", "employee", "lead"):
        assert f'<section id="{name}">' in page
    assert "essential ones met 0 of 2" in page
    assert "sole holder" in page
    for line in (*cautions.GAP, *cautions.COVERAGE, *cautions.SINGLE_POINTS):
        assert line in unescape(page)


def test_the_page_names_nobody_and_runs_nothing(client: FlaskClient) -> None:
    response = client.get("/")
    assert "Ada Example" not in response.text
    assert "<script" not in response.text
    assert 'style="' not in response.text
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_labels_are_text_and_never_markup(writer: FlaskClient) -> None:
    body = {"label": "<script>alert(1)</script>", "family": "plant"}
    for role in ("chief", "operator", "senior", "helper"):
        assert writer.put(f"/api/roles/{role}", json=body, headers={"If-Match": "*"}).status_code == 200
    page = writer.get("/").text
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_without_the_drawing_program_the_page_says_so(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    page = client.get("/").text
    assert "not installed here" in page
    assert "<figure>" not in page
