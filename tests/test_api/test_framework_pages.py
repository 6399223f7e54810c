"""The pages of single competencies, roles, courses and scales over HTTP."""

from __future__ import annotations

import re

import pytest
from flask.testing import FlaskClient

from api.pictures import render
from api.pictures.render import is_available

PAGES = ("/competencies/pump", "/roles/senior", "/courses/pump-3", "/scales/craft")
needs_dot = pytest.mark.skipif(not is_available(), reason="the Graphviz program dot is not installed")


@pytest.mark.parametrize("address", PAGES)
def test_each_page_has_one_heading_and_says_the_answer_first(client: FlaskClient, address: str) -> None:
    page = client.get(address)
    assert page.status_code == 200
    assert page.text.count("<h1") == 1
    assert '<p class="lead">' in page.text
    title = re.search("<title>(.*)</title>", page.text)
    heading = re.search("<h1>(.*)</h1>", page.text)
    assert title is not None
    assert heading is not None
    assert title[1].startswith(heading[1])
    assert title[1].endswith("· Newel")


@pytest.mark.parametrize("address", PAGES)
def test_a_page_asked_again_is_not_written_again(client: FlaskClient, address: str) -> None:
    first = client.get(address)
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.text) == (304, "")


@pytest.mark.parametrize("address", PAGES)
def test_the_record_as_data_is_one_link_away(client: FlaskClient, address: str) -> None:
    page = client.get(address).text
    for form in ("", "?format=json-ld", "?format=turtle"):
        assert f'href="/api{address}{form}"' in page
        assert client.get(f"/api{address}{form}").status_code == 200


@pytest.mark.parametrize("table", ["competencies", "roles", "courses", "scales"])
def test_an_unknown_record_is_not_found_and_nothing_else_can_be_asked(client: FlaskClient, table: str) -> None:
    assert client.get(f"/{table}/none-such").status_code == 404
    assert client.get(f"{PAGES[0]}?on=2026-11-24").status_code == 422


def test_a_requirement_can_be_added_where_it_is_missed(client: FlaskClient) -> None:
    page = client.get("/competencies/licence").text
    assert "/new/requirements?competency=licence" in page
    assert "A level in this graph is no authorisation to work." in page


@needs_dot
def test_the_picture_stands_in_the_page_and_is_drawn_once(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    first = client.get("/roles/operator").text
    assert "<svg" in first
    assert "first day" in first
    assert 'href="/roles/operator/diagram' not in first

    def refuse(*_: object) -> bytes:
        raise AssertionError("dot is called again")

    monkeypatch.setattr(render, "_run_dot", refuse)
    assert "<svg" in client.get("/roles/operator").text


def test_without_the_program_dot_a_note_says_so(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    page = client.get("/roles/chief")
    assert page.status_code == 200
    assert "needs the Graphviz program dot" in page.text or "need the Graphviz program dot" in page.text
    assert "<svg" not in page.text
    assert "Pump operation" in page.text


def test_a_role_is_compared_with_another_through_a_form(client: FlaskClient) -> None:
    page = client.get("/roles/senior").text
    assert 'action="/roles/senior/gap"' in page
    assert '<option value="operator">' in page
    assert client.get("/roles/senior/gap?from=operator").status_code == 200
