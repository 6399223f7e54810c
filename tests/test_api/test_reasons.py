"""Why a record was changed stands in the history; whoever meets another's change is told of both versions."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient
from html_forms import find_form

from api.terminal.program import program
from ontology.history.last_change import find_last_change
from ontology.live.live_graph import Change, LiveGraph
from ontology.store.history import read_commits

PUMP = "/api/requirements/operator~pump"


def get_why(graph: LiveGraph) -> str:
    return read_commits(graph.store)[-1].why


def test_a_reason_stands_in_the_history_and_without_one_what_was_done(writer: FlaskClient, graph: LiveGraph) -> None:
    made = writer.post("/api/roles", json={"id": "smith", "label": "S"}, headers={"Newel-Reason": " New forge "})
    assert (made.status_code, get_why(graph)) == (201, "made roles/smith: New forge")
    body = {"label": "Smith"}
    # bytes of UTF-8, as a gateway hands them on
    reason = "für die Schmiede".encode().decode("latin-1")
    headers = {"If-Match": made.headers["ETag"], "Newel-Reason": reason}
    assert writer.put("/api/roles/smith", json=body, headers=headers).status_code == 200
    assert get_why(graph) == "replaced roles/smith: für die Schmiede"
    assert writer.delete("/api/roles/smith", headers={"If-Match": "*"}).status_code == 204
    assert get_why(graph) == "removed roles/smith"
    rows = writer.get("/api/history/roles/smith?page_size=5").json["rows"]
    assert [row["words"].partition(": ")[2].rpartition(": ")[2] for row in rows[1:]] == [
        "für die Schmiede",
        "New forge",
    ]


@pytest.mark.parametrize(("reason", "told"), [("", "must be filled in"), ("x" * 501, "must be at most 500")])
def test_a_reason_that_is_none_is_refused_by_its_name(
    writer: FlaskClient, graph: LiveGraph, reason: str, told: str
) -> None:
    before = graph.get_snapshot()
    refused = writer.post("/api/roles", json={"id": "smith", "label": "S"}, headers={"Newel-Reason": reason})
    assert refused.status_code == 422
    (error,) = refused.json["errors"]
    assert (error["parameter"], error["reason"].startswith(told)) == ("Newel-Reason", True)
    assert graph.get_snapshot() is before


def test_of_records_about_people_everyone_reads_no_reason(writer: FlaskClient, graph: LiveGraph) -> None:
    body = {"person": "p1", "competency": "valve", "level": 2, "date": "2026-11-01", "source": "assessor"}
    made = writer.post("/api/assessments", json=body, headers={"Newel-Reason": "p1 asked for it"})
    assert (made.status_code, get_why(graph)) == (201, "made 1 assessment")


def test_a_load_has_its_reason(tmp_path: Path) -> None:
    (tmp_path / "roles.csv").write_text("id,label\nsmith,Smith\n", "utf-8")
    store = str(tmp_path / "store")
    words = ["load", str(tmp_path / "roles.csv"), "--store", store, "--why"]
    assert CliRunner().invoke(program, [*words, "x" * 501]).exit_code == 2
    stored = CliRunner().invoke(program, [*words, "New forge"])
    assert stored.exit_code == 0, stored.output
    graph = LiveGraph.open(Path(store))
    assert get_why(graph) == "load roles.csv: New forge"
    graph.close()


def test_who_meets_anothers_change_is_told_of_both_versions(writer: FlaskClient) -> None:
    mine = writer.get(PUMP)
    theirs = writer.put(
        PUMP, json=mine.json | {"weight": 2}, headers={"If-Match": mine.headers["ETag"], "Newel-Reason": "New pumps"}
    )
    sent = {"role": "operator", "competency": "pump", "level": mine.json["level"], "weight": 5}
    clash = writer.put(PUMP, json=sent, headers={"If-Match": mine.headers["ETag"]})
    assert clash.status_code == 412
    told = clash.json
    assert told["present"] == theirs.json == writer.get(PUMP).json
    assert set(told["sent"]) == set(told["present"]), "both are whole"
    assert told["differs"] == [
        {"column": name, "sent": told["sent"][name], "present": told["present"][name]}
        for name in told["present"]
        if told["sent"][name] != told["present"][name]
    ]
    assert {"column": "weight", "sent": 5, "present": 2} in told["differs"]
    last = writer.get("/api/history/requirements/operator~pump").json["rows"][0]
    assert (told["who"], told["when"], told["why"]) == (last["who"], last["when"], last["why"])
    assert told["why"] == "replaced requirements/operator~pump: New pumps"
    removal = writer.delete(PUMP, headers={"If-Match": mine.headers["ETag"]}).json
    assert (removal["sent"], removal["present"], removal["differs"]) == (None, told["present"], [])
    # what cannot be read as a record is told as it was sent
    odd = writer.put(PUMP, json={"weight": "heavy"}, headers={"If-Match": mine.headers["ETag"]}).json
    assert (odd["sent"], odd["present"]) == ({"weight": "heavy"}, told["present"])


def test_the_page_of_a_conflict_says_who_changed_it_last_and_why(writer: FlaskClient) -> None:
    form = find_form(writer.get("/edit/requirements/operator~pump").text).fields
    body = writer.get(PUMP).json | {"weight": 2}
    assert writer.put(PUMP, json=body, headers={"If-Match": "*", "Newel-Reason": "New pumps"}).status_code == 200
    for address in ("/edit/requirements/operator~pump", "/edit/roles/operator/requirements"):
        fields = form if "pump" in address else find_form(writer.get(address).text).fields | {"state": "old"}
        clash = writer.post(address, data=fields | {"weight": "4"} if "pump" in address else fields)
        assert clash.status_code == 412
        assert "Changed last by local owner, " in clash.text, clash.text
        assert ": New pumps." in clash.text


def test_the_page_of_a_record_says_when_it_changed_last(writer: FlaskClient, graph: LiveGraph) -> None:
    assert "revision 1, " in writer.get("/roles/operator").text
    body = writer.get(PUMP).json | {"weight": 2}
    assert writer.put(PUMP, json=body, headers={"If-Match": "*"}).status_code == 200
    for address, revision in (("roles/operator", 2), ("roles/chief", 1), ("competencies/pump", 1), ("scales/craft", 1)):
        text = writer.get(f"/{address}").text
        assert text.count("<dt>Last changed</dt>") == 1
        assert f"<dd>revision {revision}, " in text, address
    assert "<dd>revision 1, " in writer.get("/roles/operator?as_of=1").text
    course = next(iter(graph.get_snapshot().courses.values()))
    changed = dataclasses.replace(course, hours=course.hours + 1)
    graph.apply(Change(put=(("courses", changed),)), who="test", why="longer")
    assert "<dd>revision 3, " in writer.get(f"/courses/{course.id}").text
    last = find_last_change(graph, 2, "courses", (course.id,))
    assert last is not None
    assert last.revision == 1
