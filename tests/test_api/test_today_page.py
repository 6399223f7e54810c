"""The first page: three ways in for who is new; for who is chosen what is broken, due and to come."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient
from scenario import SCENARIO

from api.app import create_app
from api.http.actors import COOKIE
from api.site import today
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

ADDRESS = re.compile(r'(?:href|src|data)="([^"#][^"]*)"')
HEADINGS = re.compile(r"<h3>([^<]*)</h3>")
SCRIPT = re.compile(r'<script(?! type="module" src="/static/[a-z]+[.]js"></script>)')


def list_addresses(page: str) -> set[str]:
    """Return what a page leads to or shows."""
    return {unescape(address) for address in ADDRESS.findall(page)}


def look_as(client: FlaskClient, person: str) -> FlaskClient:
    client.set_cookie(COOKIE, person)
    return client


def test_an_empty_store_says_how_to_load() -> None:
    graph = LiveGraph.in_memory()
    client = create_app(graph).test_client()
    page = client.get("/")
    assert page.status_code == 200
    assert "newel load" in page.text
    assert "Nothing is loaded yet" in page.text
    assert "<h3>" not in page.text
    graph.close()


def test_who_is_new_finds_three_ways_in(client: FlaskClient) -> None:
    page = client.get("/").text
    assert [who in page for who in ("Team lead", "Employee", "HR architect")] == [True] * 3
    addresses = list_addresses(page)
    assert {"/teams", "/me", "/framework", "/teams/works/coverage", "/company-cover", "/people"} <= addresses
    assert {"/api/", "/api/openapi.json", "/api/browse/", "/words"} <= addresses
    # of a team without needs and places there is nothing to ask
    assert "/teams/office/coverage" not in addresses
    assert ">4 roles<" in page, "how many roles there are"
    assert "Today 1 of 3 needs" in page or "needs in" in page


def test_who_is_chosen_sees_what_is_broken_due_and_to_come(client: FlaskClient) -> None:
    page = look_as(client, "p1").get("/?on=2026-11-24").text
    assert "<h1>Works today</h1>" in page
    assert [unescape(heading) for heading in HEADINGS.findall(page)] == [
        *("Broken now", "The next 14 days", "Act by"),
        "Next, with dates",
        *("Broken now", "Due", "To mend"),
    ]
    addresses = list_addresses(page)
    assert {"/teams/works/coverage", "/teams/works/assess", "/teams/works/training-timetable"} <= addresses
    assert {"/people/p1", "/people/p1/roles", "/loads/new", "/new/competencies", "/new/roles"} <= addresses
    assert "Before you use this" in page


@pytest.mark.parametrize("person", ["", "p1", "p2"])
def test_no_list_has_more_than_five_rows(client: FlaskClient, person: str) -> None:
    page = look_as(client, person).get("/").text
    lists = page.split('<ul class="today">')[1:]
    assert all(part.split("</ul>", 1)[0].count("<li>") <= 5 for part in lists)


def test_a_day_that_is_none_is_refused_by_name(client: FlaskClient) -> None:
    response = client.get("/?on=tomorrow")
    assert response.status_code == 422
    assert "must be a date" in response.text


@pytest.mark.parametrize("address", ["/", "/teams", "/teams/works", "/teams/works/coverage", "/people"])
def test_a_page_runs_nothing_but_our_own_files(client: FlaskClient, address: str) -> None:
    response = client.get(address)
    assert SCRIPT.findall(response.text) == []
    assert 'style="' not in response.text
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_a_page_with_names_stays_in_no_cache_and_is_not_written_again(client: FlaskClient) -> None:
    response = client.get("/")
    assert response.headers["Cache-Control"] == "private, no-store"
    assert client.get("/", headers={"If-None-Match": response.headers["ETag"]}).status_code == 304


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
    look_as(writer, "p1")
    for address in (
        "/",
        "/teams",
        "/teams/works",
        "/teams/works/coverage",
        "/teams/works/cross-training",
        "/teams/works/training-timetable",
        "/people?team=works&competency=pump",
        "/people/p1/gap?role=helper",
        "/people/p1/development-plan?role=operator",
        "/find?text=alert",
    ):
        page = writer.get(address).text
        assert "&lt;script&gt;" in page, address
        assert SCRIPT.findall(page) == [], address


def test_what_is_still_worked_out_is_said_and_the_page_is_not_kept(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(today, "_ask_if_quick", lambda *_, **__: None)
    for person in ("", "p1"):
        response = look_as(client, person).get("/")
        assert response.status_code == 200
        assert "This is still being worked out." in response.text
        assert "ETag" not in response.headers


@pytest.fixture(scope="module")
def served() -> Iterator[FlaskClient]:
    """The demonstration, served for reading."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield create_app(graph).test_client()
    graph.close()


@pytest.mark.parametrize("team", ["treatment", "control", "laboratory", "networks", "wastewater", "metering"])
def test_what_is_broken_is_what_the_answers_say(served: FlaskClient, team: str) -> None:
    on = "on=2026-11-24"

    def ask(name: str) -> Any:
        return served.get(f"/api/teams/{team}/{name}?{on}").json

    rows = [row for need in ask("coverage")["needs"] for row in need["shifts"] or [need]]
    told = [row["state"] for row in rows if row["state"] == "short"]
    told += ["empty"] * len(set(ask("staffing")["unfilled"]))
    told += ["sole-holder" for person in ask("single-points-of-failure")["people"] if person["needs"]]
    member = served.get(f"/api/who-can?team={team}&{on}").json["people"][0]["person"]
    page = look_as(served, member).get(f"/?{on}").text
    broken = page.split("<h3>Broken now</h3>", 1)[1].split("</section>", 1)[0]
    assert re.findall(r'class="state ([a-z-]+)"', broken) == told[:5]
