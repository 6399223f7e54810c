"""Something is retired in a draft, over REST and by command; published, it is retired that day."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

import pytest
from flask.testing import FlaskClient
from rest_company import ASKED

from ontology.live.live_graph import Change, LiveGraph

DRAFT = {"id": "fewer", "title": "Fewer competencies"}


@pytest.fixture
def tag(writer: FlaskClient) -> str:
    return str(writer.post("/api/drafts", json=DRAFT).headers["ETag"])


def send(writer: FlaskClient, tag: str, **body: Any) -> Any:
    return writer.post("/api/drafts/fewer/retirements", json=body, headers={"If-Match": tag})


def test_a_competency_is_replaced_in_a_draft_and_published(writer: FlaskClient, graph: LiveGraph, tag: str) -> None:
    graph.apply(Change(remove=(("assessors", ("p2",)),)), who="t", why="names valves")
    tag = str(writer.get("/api/drafts/fewer").headers["ETag"])
    before = graph.get_snapshot()
    body = {
        "table": "competencies",
        "id": "valve",
        "replaced_by": [{"id": "pump"}],
        "reason": "Valves come with pumps.",
    }
    told = send(writer, tag, **body)
    assert (told.status_code, told.json["number"]) == (200, 1)
    assert graph.get_snapshot() is before
    words = [row["words"] for row in writer.get("/api/drafts/fewer/changes").json["rows"]]
    assert "retired, replaced by Pump operation" in words
    assert send(writer, tag, **body).status_code == 412
    again = send(writer, told.headers["ETag"], **body)
    assert (again.status_code, again.json["parameter"]) == (422, "id")
    # a draft of some days ago: it is retired on the day it is published
    state = graph.drafts.get_state("fewer").snapshot
    early = dataclasses.replace(state.retired.competencies["valve"], retired_on=dt.date(2026, 1, 1))
    graph.drafts.edit("fewer", Change(put=(("competencies", early),)), who="me", why="earlier")
    findings = writer.get("/api/drafts/fewer/findings").json["findings"]
    assert not [one for one in findings if one["severity"] == "error"], findings
    release = {"version": "2.0", "reason": "Fewer competencies"}
    headers = {"If-Match": writer.get("/api/drafts/fewer").headers["ETag"]}
    assert writer.post("/api/drafts/fewer/publication", json=release, headers=headers).status_code == 200
    after = graph.get_snapshot()
    assert after.retired.competencies["valve"].retired_on == graph.store.get_today()
    assert not after.get_requirements_of_competency("valve")
    compared = writer.get(f"/api/compare?from={before.revision}&to=now&table=competencies").json
    assert [(row["id"], row["is_retired"], row["words"]) for row in compared["rows"]] == [
        ("valve", True, "Valve work: retired, replaced by Pump operation")
    ]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"table": "teams", "id": "works"}, "/table"),
        ({"table": "competencies"}, "/id"),
        (
            {"table": "competencies", "id": "valve", "replaced_by": [{"id": "pump", "carry": "half"}]},
            "/replaced_by/0/carry",
        ),
        ({"table": "competencies", "id": "valve", "reason": "x" * 501}, "/reason"),
    ],
)
def test_a_wrong_retirement_is_refused_by_its_member(
    writer: FlaskClient, tag: str, body: dict[str, Any], pointer: str
) -> None:
    refused = send(writer, tag, **body)
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)
    assert writer.get("/api/drafts/fewer").json["number"] == 0


def test_a_role_that_people_hold_is_named_by_a_finding(writer: FlaskClient, tag: str) -> None:
    assert send(writer, tag, table="roles", id="operator", replaced_by=[{"id": "senior"}]).status_code == 200
    findings = writer.get("/api/drafts/fewer/findings").json["findings"]
    tables = {one["table"] for one in findings if one["severity"] == "error"}
    assert {"people", "places"} <= tables


def test_the_form_begins_a_draft_and_loses_nothing_typed(writer: FlaskClient, graph: LiveGraph) -> None:
    page = writer.get("/retire/competencies/valve")
    assert page.status_code == 200
    assert 'href="/retire/competencies/valve"' in writer.get("/competencies/valve").text
    typed = {
        "by1": "Pump operation",
        "carry1": "declared",
        "by2": "Nonsense",
        "reason": "One is enough",
        "title": "Fewer",
    }
    refused = writer.post("/retire/competencies/valve", data=typed)
    assert refused.status_code == 422
    assert all(text in refused.text for text in ("Pump operation", "Nonsense", "One is enough", "Fewer"))
    assert graph.drafts.list_all() == []
    itself = writer.post("/retire/competencies/valve", data=typed | {"by2": "valve"})
    assert (itself.status_code, graph.drafts.list_all()) == (422, [])
    done = writer.post("/retire/competencies/valve", data=typed | {"by2": ""})
    assert (done.status_code, done.headers["Location"]) == (303, "/drafts/fewer")
    (row,) = graph.drafts.get_state("fewer").snapshot.get_replacements(("competencies", "valve"))
    assert (row.new, row.carry, row.reason) == ("pump", "declared", "One is enough")
    assert "Retired, replaced by" in writer.get("/drafts/fewer").text
    # on the draft it is retired already
    assert writer.get("/retire/competencies/valve?draft=fewer").status_code == 404


def test_renumbered_records_are_written_as_replacements(writer: FlaskClient, graph: LiveGraph) -> None:
    one = dataclasses.replace(graph.get_snapshot().roles["helper"], id="aide", exact_match=("http://x.example/1",))
    graph.apply(Change(put=(("roles", one),)), who="t", why="a role of another maker")
    tag = str(writer.post("/api/drafts", json=DRAFT).headers["ETag"])
    change = Change((("roles", dataclasses.replace(one, id="aide-2")),), (("roles", ("aide",)),))
    graph.drafts.edit("fewer", change, who="t", why="a new edition")
    headers = {"If-Match": str(writer.get("/api/drafts/fewer").headers["ETag"])}
    assert headers["If-Match"] != tag
    body = {"match": "known", "except": ["roles/aide"]}
    assert writer.post("/api/drafts/fewer/replacements", json=body, headers=headers).json["number"] == 1
    body["except"] = []
    assert writer.post("/api/drafts/fewer/replacements", json=body, headers=headers).json["number"] == 2
    (row,) = graph.drafts.get_state("fewer").snapshot.get_replacements(("roles", "aide"))
    assert (row.new, row.carry) == ("aide-2", "same")
    assert writer.post("/api/drafts/fewer/replacements", json={"match": "all"}, headers=headers).status_code == 422


def test_retired_and_taken_back_every_answer_is_as_before(writer: FlaskClient, graph: LiveGraph, tag: str) -> None:
    graph.apply(Change(remove=(("assessors", ("p2",)),)), who="t", why="names valves")
    before = graph.get_snapshot()
    # what tells of the history tells of both releases
    told = ("changes", "compare", "effect", "history")
    addresses = [f"/api{address}" for name, address in ASKED.items() if not any(word in name for word in told)]
    answers = [ask_plainly(writer, address) for address in addresses]
    tag = str(writer.get("/api/drafts/fewer").headers["ETag"])
    assert send(writer, tag, table="competencies", id="valve", replaced_by=[{"id": "pump"}]).status_code == 200
    for draft, version in (("fewer", "2.0"), ("back", "2.1")):
        if draft == "back":
            assert [ask_plainly(writer, address) for address in addresses] != answers
            assert writer.post("/api/drafts", json={"id": "back", "title": "Back", "undo_of": "2.0"}).status_code == 201
        headers = {"If-Match": writer.get(f"/api/drafts/{draft}").headers["ETag"]}
        body = {"version": version, "reason": "As it was"}
        assert writer.post(f"/api/drafts/{draft}/publication", json=body, headers=headers).status_code == 200
    assert graph.get_snapshot() == before
    assert [ask_plainly(writer, address) for address in addresses] == answers


def ask_plainly(writer: FlaskClient, address: str) -> Any:
    """Return an answer without the revision it was given at."""
    answer = writer.get(address).json
    return {name: value for name, value in answer.items() if name != "revision"} if isinstance(answer, dict) else answer
