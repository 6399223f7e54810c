"""Old addresses lead on: to what took the place of something retired, or to what became of it."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

import pytest
from flask.testing import FlaskClient

from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

DAY = dt.date(2026, 10, 1)


@pytest.fixture
def retired(writer: FlaskClient, graph: LiveGraph) -> FlaskClient:
    """Return a client of a company that has retired three competencies: replaced, split, and neither."""
    rows: list[tuple[str, Any]] = []
    for one in ("winch", "hoist", "rope"):
        competency = TABLES["competencies"].build(id=one, label=one.title(), scale="craft")
        rows += [("competencies", competency)]
    graph.apply(Change(put=tuple(rows)), who="ana", why="made")
    gone = [(name, dataclasses.replace(record, retired_on=DAY)) for name, record in rows]
    gone += [
        ("replacements", TABLES["replacements"].build(table="competencies", old=old, new=new, carry=carry, reason=why))
        for old, new, carry, why in (
            ("winch", "pump", "same", "Winches are gone."),
            ("hoist", "pump", "declared", "Two things in one."),
            ("hoist", "valve", "declared", "Two things in one."),
        )
    ]
    graph.apply(Change(put=tuple(gone)), who="ana", why="replaced competencies/rope: Nobody uses ropes")
    return writer


def test_what_was_replaced_leads_to_what_took_its_place(retired: FlaskClient) -> None:
    for path in ("/api/competencies/winch", "/competencies/winch", "/api/competencies/winch/holders?on=2026-11-24"):
        moved = retired.get(path)
        assert moved.status_code == 301
        assert moved.headers["Location"] == path.replace("winch", "pump")
        assert moved.headers["Cache-Control"] == "no-cache"
        new = path.partition("?")[0].replace("winch", "pump").removesuffix("/holders")
        assert moved.headers["Link"] == f'<{new}>; rel="successor-version"'
    assert retired.get("/api/competencies/winch", follow_redirects=True).json["id"] == "pump"
    # it is in nobody's list, and read as it last stood where that is asked
    assert retired.get("/api/competencies?q=winch").json == []
    assert [one["id"] for one in retired.get("/api/competencies?q=winch&retired=yes").json] == ["winch"]
    assert retired.get("/api/competencies?retired_on=2026-10-01").json == []
    (listed, *_) = retired.get("/api/competencies?retired_on=2026-10-01&retired=yes&page=2&page_size=2").json
    assert (listed["id"], listed["retired_on"]) == ("winch", "2026-10-01")
    read = retired.get("/api/competencies/winch?retired=yes")
    assert (read.status_code, read.json["label"]) == (200, "Winch")
    turtle = retired.get("/api/competencies/winch?retired=yes&format=turtle").text
    assert "owl:deprecated true" in turtle
    assert "dcterms:isReplacedBy" in turtle
    assert retired.get("/api/competencies/winch?retired=perhaps").status_code == 422
    kept = retired.put("/api/competencies/winch", json=read.json, headers={"If-Match": read.headers["ETag"]})
    assert kept.status_code == 200


def test_what_was_split_or_left_empty_is_gone_and_told(retired: FlaskClient) -> None:
    split = retired.get("/api/competencies/hoist")
    assert (split.status_code, split.json["retired_on"]) == (410, "2026-10-01")
    assert split.json["detail"] == "Hoist was retired on 1 October 2026, replaced by Pump operation and Valve work."
    assert split.json["reason"] == "Two things in one."
    assert [(one["id"], one["href"]) for one in split.json["replaced_by"]] == [
        ("pump", "/api/competencies/pump"),
        ("valve", "/api/competencies/valve"),
    ]
    assert split.headers.getlist("Link") == [
        f'</api/competencies/{one}>; rel="successor-version"' for one in ("pump", "valve")
    ]
    assert split.headers["Cache-Control"] == "no-cache"
    rope = retired.get("/api/competencies/rope").json
    assert (rope["reason"], rope["replaced_by"]) == ("Nobody uses ropes", [])
    page = retired.get("/competencies/hoist")
    assert page.status_code == 410
    assert "retired on 1 October 2026, replaced by" in page.text
    assert 'href="/competencies/pump"' in page.text
    assert 'href="/competencies/hoist?retired=yes"' in page.text
    shown = retired.get("/competencies/hoist?retired=yes")
    assert shown.status_code == 200
    assert "Retired on 1 October 2026, replaced by Pump operation and Valve work." in shown.text


def test_what_was_removed_is_gone_and_what_never_was_is_unknown(writer: FlaskClient, graph: LiveGraph) -> None:
    made = writer.put("/api/roles/digger", json={"label": "Digger"}, headers={"If-None-Match": "*"})
    headers = {"If-Match": made.headers["ETag"], "Newel-Reason": "Nobody digs"}
    assert writer.delete("/api/roles/digger", headers=headers).status_code == 204
    gone = writer.get("/api/roles/digger")
    assert gone.status_code == 410
    revision, today = graph.get_snapshot().revision, graph.store.get_today().isoformat()
    assert gone.json["removed_in"] == {"revision": revision, "day": today}
    assert (gone.json["reason"], gone.json["replaced_by"]) == ("Nobody digs", [])
    assert writer.get("/roles/digger").status_code == 410
    assert writer.get("/api/roles/stranger").status_code == 404
    again = writer.put("/api/roles/digger", json={"label": "Digger"}, headers={"If-None-Match": "*"})
    assert again.status_code == 201
    assert writer.get("/api/roles/digger").status_code == 200


def test_a_retired_id_is_not_given_again_and_is_told_in_a_parameter(retired: FlaskClient) -> None:
    body = {"label": "Another winch", "scale": "craft"}
    refused = retired.put("/api/competencies/winch", json=body, headers={"If-None-Match": "*"})
    assert refused.status_code == 409
    assert retired.post("/api/competencies", json={"id": "winch", **body}).status_code == 409
    asked = retired.get("/api/who-can?team=works&competency=winch&level=1")
    assert (asked.status_code, asked.json["errors"][0]["parameter"]) == (422, "competency")
    assert "replaced by pump" in asked.json["errors"][0]["reason"]


def test_the_life_of_something_retired_says_so(retired: FlaskClient) -> None:
    life = retired.get("/api/history/competencies/hoist").json
    assert (life["exists"], life["replaced_by"]) == ("retired", ["pump", "valve"])
    assert life["rows"][0]["words"].startswith("retired, replaced by Pump operation and Valve work, by ana")
    assert 'href="/competencies/hoist?retired=yes"' in retired.get("/history/competencies/hoist").text
    listed = retired.get("/competencies?retired=yes&q=hoist")
    assert (listed.status_code, "Hoist" in listed.text) == (200, True)
    assert "Hoist" not in retired.get("/competencies").text
