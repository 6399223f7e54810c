"""Which form is chosen, by Accept and by format (RFC 9110, section 12.5.1)."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from ontology.live.live_graph import LiveGraph

JSON, JSON_LD, TURTLE = "application/json", "application/ld+json", "text/turtle"


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        (None, JSON),
        ("", JSON),
        ("*/*", JSON),
        ("application/*", JSON),
        ("text/*", TURTLE),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", JSON),
        ("application/json; charset=utf-8", JSON),
        ('application/ld+json; profile="http://www.w3.org/ns/json-ld#compacted"', JSON_LD),
        ("Text/Turtle", TURTLE),
        ("application/json;q=0.5, text/turtle;q=0.9", TURTLE),
        ("application/json;q=0, */*", JSON_LD),
        ("text/turtle, application/ld+json", JSON_LD),
        ("text/html", None),
        ("application/json;q=0", None),
        ("application/problem+json", None),
    ],
)
def test_the_form_is_chosen_by_accept(client: FlaskClient, accept: str | None, media_type: str | None) -> None:
    headers = {} if accept is None else {"Accept": accept}
    for address in ("/api/roles/helper", "/api/roles"):
        response = client.get(address, headers=headers)
        if media_type is None:
            assert (response.status_code, response.mimetype) == (406, "application/problem+json")
        else:
            assert (response.status_code, response.mimetype) == (200, media_type)
            assert "Accept" in response.headers["Vary"]
            assert response.headers["Cache-Control"] == "no-cache"


@pytest.mark.parametrize(("form", "media_type"), [("json", JSON), ("json-ld", JSON_LD), ("turtle", TURTLE)])
def test_format_wins_over_accept(client: FlaskClient, form: str, media_type: str) -> None:
    for accept in ("text/html", "text/turtle", "*/*"):
        response = client.get(f"/api/roles/helper?format={form}", headers={"Accept": accept})
        assert (response.status_code, response.mimetype) == (200, media_type)
    assert client.get("/api/roles/helper?format=JSON").status_code == 406
    assert client.get("/api/roles/helper?format=").status_code == 406


def test_a_write_that_could_not_be_shown_is_not_made(writer: FlaskClient, graph: LiveGraph) -> None:
    body = {"id": "welder", "label": "Welder"}
    assert writer.post("/api/roles", json=body, headers={"Accept": "text/html"}).status_code == 406
    assert graph.get_snapshot().revision == 1
    made = writer.post("/api/roles?format=turtle", json=body)
    assert (made.status_code, made.mimetype) == (201, TURTLE)
    assert made.headers["ETag"] == writer.get("/api/roles/welder?format=turtle").headers["ETag"]


def test_a_tag_belongs_to_one_resource_and_media_type(writer: FlaskClient) -> None:
    """If-Match is compared with the form the request selects, as RFC 9110, section 13.1.1 has it."""
    body = {"label": "Same", "family": "plant"}
    for role in ("helper", "senior"):
        assert writer.put(f"/api/roles/{role}", json=body, headers={"If-Match": "*"}).status_code == 200
    tags = {role: writer.get(f"/api/roles/{role}").headers["ETag"] for role in ("helper", "senior")}
    turtle = writer.get("/api/roles/helper?format=turtle").headers["ETag"]
    assert len({*tags.values(), turtle}) == 3
    for wrong in (tags["senior"], turtle):
        assert writer.put("/api/roles/helper", json=body, headers={"If-Match": wrong}).status_code == 412
    several = f"{tags['senior']}, {tags['helper']}"
    assert writer.put("/api/roles/helper", json=body, headers={"If-Match": several}).status_code == 200
    assert writer.put("/api/roles/helper?format=turtle", json=body, headers={"If-Match": turtle}).status_code == 200
