"""Results of a session over REST and from a file: one commit, refused as a whole, told what is wrong."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient
from small_class import CLASS_ROWS

from api.app import create_app
from api.terminal.program import program
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

ADDRESS = "/api/sessions/s1/results"
ROWS: list[dict[str, Any]] = [{"person": i, "attended": True, "passed": True} for i in "abc"]
ROWS.append({"person": "d", "attended": False})
MISSED = {"session": "s1", "person": "d", "state": "missed"}


def fill(graph: LiveGraph) -> LiveGraph:
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in CLASS_ROWS.items()}
    graph.load(records, who="test", why="a class")
    return graph


@pytest.fixture
def graph() -> LiveGraph:
    return fill(LiveGraph.in_memory())


@pytest.fixture
def client(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


def put(client: FlaskClient, body: Any, **headers: str) -> Any:
    given = headers or {"If-Match": client.get(ADDRESS).headers["ETag"]}
    return client.put(ADDRESS, json=body, headers={name.replace("_", "-"): text for name, text in given.items()})


def test_what_is_recorded_is_read_with_its_tag(client: FlaskClient) -> None:
    read = client.get(ADDRESS)
    assert read.json == {
        "session": "s1",
        "rows": [{"person": i, "attended": None, "passed": None} for i in "abcd"],
    }
    assert read.headers["Cache-Control"] == "private, no-store"
    assert client.get(ADDRESS, headers={"If-None-Match": read.headers["ETag"]}).status_code == 304


def test_a_class_is_entered_in_one_commit(client: FlaskClient, graph: LiveGraph) -> None:
    before = graph.get_snapshot().revision
    reply = put(client, {"rows": ROWS, "entered_by": "g"})
    assert reply.status_code == 200, reply.text
    assert graph.get_snapshot().revision == before + 1
    rows = [{"person": i, "attended": True, "passed": True} for i in "abc"]
    assert reply.json == {"session": "s1", "rows": [*rows, {"person": "d", "attended": False, "passed": False}]}
    assert reply.headers["ETag"] == client.get(ADDRESS).headers["ETag"]
    (remark,) = json.loads(reply.headers["Newel-Remarks"])
    assert remark.startswith("c: mask at level 1 is only renewed")
    assert (client.get("/api/bookings/s1~d").json or {})["state"] == "missed"
    (hoist,) = client.get("/api/people/a/assessments?competency=hoist").json or []
    assert (hoist["date"], hoist["source"], hoist["assessor"]) == ("2026-11-03", "assessor", "g")


def test_entering_the_same_twice_makes_no_revision(client: FlaskClient, graph: LiveGraph) -> None:
    first = put(client, {"rows": ROWS})
    revision = graph.get_snapshot().revision
    # what is read can be put back
    second = put(client, first.json)
    assert (second.status_code, second.json, second.headers["ETag"]) == (200, first.json, first.headers["ETag"])
    assert graph.get_snapshot().revision == revision


def test_who_enters_it_is_the_owner_where_nobody_is_named(client: FlaskClient) -> None:
    put(client, {"rows": ROWS})
    (hoist,) = client.get("/api/people/a/assessments?competency=hoist").json or []
    assert hoist["assessor"] == "local owner"


def test_a_change_says_for_which_state_it_is_made(client: FlaskClient) -> None:
    tag = client.get(ADDRESS).headers["ETag"]
    assert client.put(ADDRESS, json={"rows": ROWS}).status_code == 428
    assert put(client, {"rows": ROWS}, If_Match='"x"').status_code == 412
    assert put(client, {"rows": ROWS}, If_Match=tag).status_code == 200
    # someone else entered them meanwhile
    stale = put(client, {"rows": ROWS[:1]}, If_Match=tag)
    assert (stale.status_code, stale.mimetype) == (412, "application/problem+json")
    assert put(client, {"rows": ROWS}, If_Match="*").status_code == 200


def change(place: int, **values: Any) -> dict[str, Any]:
    rows = deepcopy(ROWS)
    rows[place] |= values
    return {"rows": rows}


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (change(1, person="x"), "/rows/1/person"),
        (change(1, person="e"), "/rows/1/person"),
        (change(1, person="a"), "/rows/1/person"),
        (change(1, person="not an id"), "/rows/1/person"),
        (change(3, passed=True), "/rows/3/passed"),
        (change(0, attended="yes"), "/rows/0/attended"),
        (change(0, attended=None), "/rows/0/attended"),
        (change(0, passed=1), "/rows/0/passed"),
        (change(0, grade=3), "/rows/0/grade"),
        ({"rows": [{"person": "a"}]}, "/rows/0/attended"),
        ({"rows": ["a"]}, "/rows/0"),
        ({"rows": []}, "/rows"),
        ({"rows": None}, "/rows"),
        ({"rows": {"a": True}}, "/rows"),
        ({}, "/rows"),
        ({"rows": ROWS, "colour": "red"}, "/colour"),
        ({"rows": ROWS, "session": "s2"}, "/session"),
        ({"rows": ROWS, "entered_by": 7}, "/entered_by"),
        ({"rows": ROWS, "entered_by": "b"}, "/rows/1/person"),
        (ROWS, ""),
    ],
)
def test_one_wrong_member_refuses_the_whole_class(
    client: FlaskClient, graph: LiveGraph, body: Any, pointer: str
) -> None:
    before = graph.get_snapshot()
    reply = put(client, body)
    assert (reply.status_code, reply.mimetype) == (422, "application/problem+json"), reply.text
    assert [entry["pointer"] for entry in reply.json["errors"]] == [pointer]
    assert all(entry["reason"] for entry in reply.json["errors"])
    assert graph.get_snapshot() is before


def test_a_session_that_is_not_over_is_refused(client: FlaskClient) -> None:
    session = CLASS_ROWS["sessions"][0] | {"to_date": date(2999, 1, 2)}
    body = {"course": "week", "from": str(session["from_date"]), "to": "2999-01-02"}
    assert client.put("/api/sessions/s1", json=body, headers={"If-Match": "*"}).status_code == 200
    reply = put(client, {"rows": ROWS})
    assert [(e["pointer"], "is not over" in e["reason"]) for e in reply.json["errors"]] == [("/session", True)]


def test_an_unknown_session_and_an_unknown_form_are_told(client: FlaskClient) -> None:
    assert client.get("/api/sessions/nobody/results").status_code == 404
    assert client.put("/api/sessions/nobody/results", json={"rows": ROWS}).status_code == 404
    assert client.get(f"{ADDRESS}?format=turtle").status_code == 406
    assert client.get(f"{ADDRESS}?on=2026-11-24").status_code == 422
    assert (
        client.put(ADDRESS, data="[", headers={"If-Match": "*", "Content-Type": "application/json"}).status_code == 400
    )


# ---- from a file ----


@pytest.fixture
def store(tmp_path: Path) -> Path:
    graph = fill(LiveGraph.open(tmp_path / "store", create=True))
    graph.close()
    return tmp_path / "store"


def run(store: Path, text: str, *words: str) -> Result:
    file = store.parent / "class.csv"
    file.write_text(text, "utf-8")
    return CliRunner().invoke(program, ["results", "s1", str(file), *words, "--store", str(store)], prog_name="newel")


CSV = "person,attended,passed\na,yes,yes\nb,yes,yes\nc,yes,no\nd,no,\n"


def test_a_file_is_entered_tried_and_entered_again(store: Path) -> None:
    tried = run(store, CSV, "--dry-run", "--entered-by", "g")
    assert (tried.exit_code, tried.stdout) == (0, "Checked, not stored: 3 of 4 attended, 2 passed.\n")
    stored = run(store, CSV, "--entered-by", "g")
    assert "Stored: 3 of 4 attended, 2 passed. Revision 2 of" in stored.stdout
    again = run(store, CSV, "--entered-by", "g", "--json")
    answer = json.loads(again.stdout)
    assert (answer["revision"], answer["rows"][3]) == (2, {"person": "d", "attended": False, "passed": False})
    assert "Nothing changes" in run(store, CSV).stdout


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (CSV.replace("b,yes", "x,yes"), "error: class.csv, row 3, person: must be the id of a person"),
        (
            CSV.replace("d,no,", "d,no,yes"),
            "error: class.csv, row 5, passed: must be no for who did not attend",
        ),
        (CSV.replace("b,yes", "a,yes"), "error: class.csv, row 3: is a duplicate of row 2"),
        (CSV.replace("b,yes", "b,perhaps"), "error: class.csv, row 3, attended: must be yes or no ('perhaps')"),
        (CSV.replace("b,yes", "b,"), "error: class.csv, row 3, attended: must not be empty"),
        (CSV.replace("passed", "mark"), "error: class.csv, row 1, mark: unknown column"),
        ("person,attended\n", "error: class.csv, rows: must tell of at least one person"),
        ("", "class.csv"),
    ],
)
def test_a_wrong_file_is_refused_with_row_and_column(store: Path, text: str, told: str) -> None:
    result = run(store, text)
    assert result.exit_code == 1, result.output
    assert told in result.stdout
    assert "The results are refused as a whole; nothing was stored." in result.stderr
    assert "Revision 2" in run(store, CSV).stdout


def test_a_missing_file_and_an_unknown_session_are_told(store: Path) -> None:
    missing = CliRunner().invoke(program, ["results", "s1", "none.csv", "--store", str(store)])
    assert (missing.exit_code, "none.csv" in missing.stderr) == (1, True)
    (store.parent / "x.csv").write_text(CSV)
    unknown = CliRunner().invoke(program, ["results", "s9", str(store.parent / "x.csv"), "--store", str(store)])
    assert (unknown.exit_code, unknown.stderr) == (1, "newel: There is no 's9' in sessions.\n")
