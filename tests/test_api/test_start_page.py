"""The start page: three ways in by names, to pages that all answer; labels are text, nothing on it runs."""

from __future__ import annotations

import re
from html import unescape

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

ADDRESS = re.compile(r'(?:href|src|data)="([^"#][^"]*)"')


def list_addresses(page: str) -> set[str]:
    """Return what a page leads to or shows."""
    return {unescape(address) for address in ADDRESS.findall(page)}


def get_section(page: str, name: str) -> str:
    """Return one way in."""
    return page.split(f'<section id="{name}">', 1)[1].split("</section>", 1)[0]


def test_an_empty_store_says_how_to_load() -> None:
    graph = LiveGraph.in_memory()
    client = create_app(graph).test_client()
    page = client.get("/")
    assert page.status_code == 200
    assert "newel load" in page.text
    assert "Nothing is loaded yet" in page.text
    assert "<table" not in page.text
    graph.close()


def test_each_of_the_three_finds_a_way_in_by_names(client: FlaskClient) -> None:
    page = client.get("/").text
    lead, employee, architect = (get_section(page, name) for name in ("lead", "employee", "architect"))
    assert 'href="/teams/works/coverage"' in lead
    # of a team without needs and places there is nothing to ask
    assert (">Works<" in lead, ">Office<" in lead) == (True, False)
    for name in ("Ada Example", "Ben Example", "Cleo Example"):
        assert f">{name}<" in employee
    assert 'href="/people/p1/gap?role=helper"' in employee
    for label in ("Chief", "Helper", "Operator", "Senior operator"):
        assert f">{label}<" in architect
    assert 'href="/roles/chief/similar"' in architect
    assert "4 <a" in architect, "how many roles there are"


def test_people_and_roles_beyond_the_first_are_counted_and_found_by_name() -> None:
    graph = LiveGraph.in_memory()
    people = [TABLES["people"].build(id=f"p{n:02}", name=f"Person {n:02}") for n in range(63)]
    graph.load({"people": people}, who="test", why="many")
    client = create_app(graph).test_client()
    page = client.get("/").text
    assert "3 more: find them by name above." in get_section(page, "employee")
    assert "more: find them" not in get_section(page, "architect")
    assert (">Person 59<" in page, ">Person 60<" in page) == (True, False)
    assert '<form class="find" action="/find"' in page
    assert "Person 62" in client.get("/find?text=person+62").text
    graph.close()


@pytest.mark.parametrize("address", ["/", "/teams/works/coverage", "/people/p1/gap?role=operator"])
def test_a_page_runs_nothing_but_our_own_files(client: FlaskClient, address: str) -> None:
    response = client.get(address)
    assert re.findall(r'<script(?! type="module" src="/static/[a-z]+[.]js"></script>)', response.text) == []
    assert 'style="' not in response.text
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_a_page_with_names_stays_in_no_cache(client: FlaskClient) -> None:
    assert client.get("/").headers["Cache-Control"] == "private, no-store"


def test_labels_are_text_and_never_markup(writer: FlaskClient) -> None:
    label = '"><script>alert(1)</script>'
    for path, more in (
        ("roles/helper", {"family": label}),
        ("teams/works", {}),
        ("competencies/pump", {"scale": "craft"}),
    ):
        body = {"label": label, **more}
        assert writer.put(f"/api/{path}", json=body, headers={"If-Match": "*"}).status_code == 200, path
    body = {"name": label, "team": "works", "role": "helper", "shift": "day"}
    assert writer.put("/api/people/p1", json=body, headers={"If-Match": "*"}).status_code == 200
    pages = ("/", "/teams/works/coverage", "/teams/works/cross-training", "/teams/works/training-timetable")
    for address in (
        *pages,
        "/people/p1/gap?role=helper",
        "/people/p1/development-plan?role=operator",
        "/find?text=alert",
    ):
        page = writer.get(address).text
        assert "&lt;script&gt;" in page, address
        assert "<script" not in page, address
