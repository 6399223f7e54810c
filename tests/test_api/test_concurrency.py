"""A request is answered from one Snapshot, and a slow answer makes nobody else wait."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from held import replace_held

from api.http.context import EXTENSION
from api.questions.person import learning_path
from api.questions.team import coverage
from ontology.live.live_graph import LiveGraph

WAIT_S = 20


def test_a_slow_answer_blocks_neither_answers_nor_writes(
    writable_app: Flask, graph: LiveGraph, monkeypatch: pytest.MonkeyPatch
) -> None:
    writable_app.extensions[EXTENSION].graph = graph
    has_begun, may_end = threading.Event(), threading.Event()
    compute = learning_path.find_path
    told: list[Any] = []

    def compute_slowly(*arguments: Any, **more: Any) -> Any:
        has_begun.set()
        assert may_end.wait(WAIT_S)
        return compute(*arguments, **more)

    monkeypatch.setattr(learning_path, "find_path", compute_slowly)
    address = "/api/people/p1/learning-path?role=operator"
    slow = threading.Thread(target=lambda: told.append(writable_app.test_client().get(address).json))
    slow.start()
    assert has_begun.wait(WAIT_S)
    other = writable_app.test_client()
    assert other.get("/api/teams/works/coverage").status_code == 200
    assert other.post("/api/roles", json={"id": "welder", "label": "Welder"}).status_code == 201
    assert other.get("/api/health").json == {"status": "ok", "revision": 2}
    may_end.set()
    slow.join()
    assert told[0]["revision"] == 1, "the answer is about the state it began with"
    assert told[0]["study_hours"] == 43


def test_a_request_sees_one_state_from_beginning_to_end(
    writer: FlaskClient, graph: LiveGraph, monkeypatch: pytest.MonkeyPatch
) -> None:
    compute = coverage.compute_cover_of_day
    other = writer.application.test_client()

    def write_then_compute(*arguments: Any, **more: Any) -> Any:
        body = {"competency": "valve", "level": 2, "date": "2026-11-01", "source": "assessor"}
        assert other.post("/api/people/p3/assessments", json=body).status_code == 201
        return compute(*arguments, **more)

    replace_held(monkeypatch, coverage.QUESTION, write_then_compute)
    answer = writer.get("/api/teams/works/coverage?on=2026-11-24").json or {}
    assert answer["revision"] == 1
    assert {need["competency"]: need["depth"] for need in answer["needs"]}["valve"] == 1
    monkeypatch.undo()
    answer = writer.get("/api/teams/works/coverage?on=2026-11-24").json or {}
    assert (answer["revision"], graph.get_snapshot().revision) == (2, 2)
    assert {need["competency"]: need["depth"] for need in answer["needs"]}["valve"] == 2
