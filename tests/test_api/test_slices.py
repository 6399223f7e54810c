"""A slice over REST and by command: out as a workbook, tried, put into a draft, and refused where it must be."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from all_accounts import People, build_accounts
from click.testing import CliRunner
from flask.testing import FlaskClient
from sliced import Sheets, edit_book, find_row

from api.http.negotiation import WORKBOOK
from api.terminal.program import program
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

ADDRESS = "/api/drafts/rules/workbook"


def rename(sheets: Sheets) -> None:
    row, places = find_row(sheets, "roles", "operator")
    row[places["label"]] = "Plant operator"


def send(writer: FlaskClient, path: Path, tag: str | None, query: str = "", media_type: str = WORKBOOK) -> Any:
    headers = {"If-Match": tag} if tag else {}
    return writer.post(f"{ADDRESS}{query}", data=path.read_bytes(), content_type=media_type, headers=headers)


def test_a_slice_goes_out_and_comes_back_onto_a_draft(writer: FlaskClient, graph: LiveGraph, tmp_path: Path) -> None:
    sent = writer.get("/api/slices?roles=operator")
    assert (sent.status_code, sent.mimetype) == (200, WORKBOOK)
    assert "slice.xlsx" in sent.headers["Content-Disposition"]
    path = tmp_path / "s.xlsx"
    path.write_bytes(sent.data)
    assert send(writer, path, "*").status_code == 404
    writer.post("/api/drafts", json={"id": "rules", "title": "New rules"})
    tag = writer.get("/api/drafts/rules").headers["ETag"]
    assert send(writer, path, tag).json["rows"] == []
    edit_book(path, rename)
    tried = send(writer, path, tag, "?trial=yes").json
    assert (tried["is_stored"], tried["number"], tried["compared_with"]) == (False, 0, 1)
    cell = {"column": "label", "before": "Operator", "after": "Plant operator", "is_conflict": False}
    row = {"table": "roles", "id": "operator", "change": "changed", "is_conflict": False, "cells": [cell]}
    assert tried["rows"] == [row]
    assert writer.get("/api/drafts/rules").headers["ETag"] == tag, "a trial stores nothing"
    put = send(writer, path, tag)
    assert (put.status_code, put.json["number"], put.json["rows"]) == (200, 1, [row])
    assert put.headers["ETag"] == writer.get("/api/drafts/rules").headers["ETag"]
    assert graph.drafts.get_state("rules").snapshot.roles["operator"].label == "Plant operator"
    assert send(writer, path, tag).status_code == 412
    assert send(writer, path, None).status_code == 428
    assert send(writer, path, "*", media_type="text/csv").status_code == 415
    path.write_bytes(b"no workbook")
    refused = send(writer, path, "*")
    assert refused.status_code == 415
    assert "/" not in refused.json["detail"], "where it lay for a moment is nobody's business"
    assert "path" not in refused.json


@pytest.mark.parametrize(
    ("query", "parameter"), [("tables=people", "tables"), ("roles=zqnobody", "roles"), ("below=x", "below")]
)
def test_a_slice_of_people_or_of_nothing_is_refused(writer: FlaskClient, query: str, parameter: str) -> None:
    refused = writer.get(f"/api/slices?{query}")
    assert (refused.status_code, refused.json["parameter"]) == (422, parameter)


def test_it_is_for_who_may_change_the_framework(graph: LiveGraph) -> None:
    accounts = build_accounts(graph, People("p1", "p2", "works", "office", "pump"))
    told = {name: accounts.sign_in(name).get("/api/slices").status_code for name in ("employee", "lead", "architect")}
    assert told == {"employee": 403, "lead": 403, "architect": 200}


def test_the_commands_write_try_and_load_a_slice(tmp_path: Path) -> None:
    store, path = tmp_path / "store", tmp_path / "s.xlsx"
    graph = LiveGraph.open(store, create=True)
    role = TABLES["roles"].build(id="operator", label="Operator")
    graph.apply(Change(put=(("roles", role),)), who="test", why="roles")
    graph.close()

    def call(*words: str) -> Any:
        return CliRunner().invoke(program, [*words, "--store", str(store)], prog_name="newel")

    assert "Wrote 1 row of revision 1" in call("slice", str(path), "--tables", "roles").output
    assert call("slice", str(path), "--tables", "people").exit_code == 2
    edit_book(path, rename)
    words = ("load", str(path), "--draft", "rules")
    tried = call(*words, "--dry-run").output
    assert "changed roles/operator: label Operator -> Plant operator" in tried
    assert "Checked, not stored: 1 row edited." in tried
    assert call("draft", "show", "rules").exit_code == 1, "a trial begins no draft"
    assert call(*words, "--whole").exit_code == 2
    loaded = json.loads(call(*words, "--json").stdout)
    assert (loaded["draft"], loaded["number"], [row["id"] for row in loaded["rows"]]) == ("rules", 1, ["operator"])
    assert "nothing edited" in call(*words).output
    assert call("load", str(path)).exit_code == 1, "without a draft it is no load"
