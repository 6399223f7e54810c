"""Slow answers keep their time limit, and a quick answer comes while they compute: real threads, a real server."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import pytest
from flask.testing import FlaskClient
from hard_company import build_hard_company
from held import replace_held
from loopback import serve

from api.app import create_app
from api.desk.gate import SlowGate
from api.errors import BusyError
from api.http.context import EXTENSION
from api.questions.person import _path, reachable_roles, routes
from api.questions.team import _plan
from api.settings import Settings
from ontology.errors import InputError
from ontology.live.live_graph import LiveGraph

#: Every kind of answer with a time limit.
SLOW = [
    "/api/people/p0/learning-path?role=r0",
    "/api/roles/r0/learning-path?from=r1",
    "/api/people/p0/routes?to=r0&preparation_limit=100000",
    "/api/roles/r1/routes?to=r0&preparation_limit=100000",
    "/api/people/p0/reachable-roles?preparation_limit=100000",
    "/api/roles/r1/reachable-roles?preparation_limit=100000",
    "/api/teams/t/cross-training",
]
LIMIT_S = 1
#: What may come on top on a busy machine: reading the model, one greedy plan, the answer itself.
GRACE_S = 30


@pytest.fixture(scope="module")
def hard_graph() -> Iterator[LiveGraph]:
    """The company whose questions are hard."""
    graph = build_hard_company()
    yield graph
    graph.close()


@pytest.mark.parametrize("address", SLOW)
def test_a_slow_answer_ends_at_its_time_limit(hard_graph: LiveGraph, address: str) -> None:
    client = create_app(hard_graph).test_client()
    begun = time.monotonic()
    answer = client.get(f"{address}{'&' if '?' in address else '?'}time_limit={LIMIT_S}").json or {}
    taken_s = time.monotonic() - begun
    assert answer["status"] in ("feasible", "optimal")
    assert taken_s < LIMIT_S + GRACE_S
    if "learning-path?role" in address:
        assert answer["status"] == "feasible", "the company is not hard enough to show anything"
        assert 0 < answer["lower_bound"] < answer["study_hours"]
        assert taken_s > LIMIT_S / 2


def test_the_time_limit_is_the_settings_default_and_at_most_their_maximum(
    hard_graph: LiveGraph, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[float] = []

    def note(*_: Any, time_limit_s: float, **__: Any) -> None:
        told.append(time_limit_s)
        raise InputError("noted")

    monkeypatch.setattr(_path, "find_learning_path", note)
    monkeypatch.setattr(_path, "find_person_path", note)
    replace_held(monkeypatch, routes.QUESTION, note)
    replace_held(monkeypatch, reachable_roles.QUESTION, note)
    monkeypatch.setattr(_plan, "plan_cross_training", note)
    client = create_app(hard_graph, Settings(time_limit_default_s=0.5, time_limit_max_s=2)).test_client()
    for address in SLOW:
        joined = "&" if "?" in address else "?"
        for asked in (address, f"{address}{joined}time_limit=2"):
            assert (client.get(asked).json or {})["detail"] == "noted"
        refused = client.get(f"{address}{joined}time_limit=2.01")
        assert refused.status_code == 422
        assert "at most 2" in (refused.json or {})["detail"]
    assert told == [0.5, 2.0] * len(SLOW)


def test_a_quick_answer_comes_while_slow_ones_compute(hard_graph: LiveGraph) -> None:
    """More slow questions than may compute at once; gap, coverage and a write come before the first of them ends."""
    settings = Settings(threads=8, slow_computing_max=2, slow_waiting_max=1)
    app = create_app(hard_graph, settings)
    ended: list[str] = []
    statuses: dict[str, int] = {}
    have_begun = threading.Semaphore(0)

    def ask(port: int, name: str, method: str, address: str, body: str | None = None) -> Any:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        connection.request(method, address, body, {"Content-Type": "application/json"})
        have_begun.release()
        response = connection.getresponse()
        content = response.read()
        ended.append(name)
        statuses[name] = response.status
        connection.close()
        return json.loads(content) if content else None

    with serve(app, settings.threads) as port:
        slow = [
            threading.Thread(
                target=ask, args=(port, f"slow {i}", "GET", f"/api/people/p{i}/learning-path?role=r0&time_limit=4")
            )
            for i in range(6)
        ]
        for thread in slow:
            thread.start()
        for _ in slow:
            assert have_begun.acquire(timeout=60)
        patience_ends = time.monotonic() + 60
        while sum(status == 503 for status in list(statuses.values())) < 3:
            assert time.monotonic() < patience_ends
            time.sleep(0.01)
        for i in range(5):
            gap = ask(port, "quick", "GET", f"/api/people/p{i}/gap?role=r0")
            assert len(gap["gaps"]) == 80
        assert len(ask(port, "quick", "GET", "/api/teams/t/coverage")["needs"]) == 80
        assert ask(port, "write", "POST", "/api/roles", '{"id": "another", "label": "Another"}')["id"] == "another"
        assert ask(port, "quick", "GET", "/api/health")["status"] == "ok"
        ended_before = list(ended)
        for thread in slow:
            thread.join(120)
    sent_away = {name for name, status in statuses.items() if status == 503}
    assert len(sent_away) == 6 - 2 - 1, "the rest is sent away at once rather than made to wait"
    assert set(ended_before) <= {"quick", "write", *sent_away}, "no slow answer had to end first"
    assert [statuses[f"slow {i}"] for i in range(6) if f"slow {i}" not in sent_away] == [200] * 3


def test_who_is_sent_away_is_told_when_to_come_back(hard_graph: LiveGraph) -> None:
    app = create_app(hard_graph, Settings(threads=2, slow_computing_max=1, slow_waiting_max=0))
    gate: SlowGate = app.extensions[EXTENSION].gate
    client = app.test_client()
    with gate.enter():
        for address in (*SLOW, "/api/teams/t/staffing", "/api/people/p0/learning-path/diagram?role=r0"):
            response = client.get(address)
            assert (response.status_code, response.mimetype) == (503, "application/problem+json"), address
            assert (response.json or {})["type"].endswith("#busy")
            assert int(response.headers["Retry-After"]) > 0
        assert client.get("/api/people/p0/gap?role=r0").status_code == 200
    assert client.get("/api/teams/t/staffing").status_code == 200


def test_the_gate_lets_in_as_many_as_it_says() -> None:
    gate = SlowGate(computing_max=2, waiting_max=1, patience_s=0.05)
    with ExitStack() as inside:
        inside.enter_context(gate.enter())
        inside.enter_context(gate.enter())
        begun = time.monotonic()
        with pytest.raises(BusyError), gate.enter():
            pytest.fail("a third one computes")
        assert time.monotonic() - begun >= 0.05, "it waited for its turn"
    with gate.enter(), gate.enter():
        pass


def test_what_fails_leaves_its_place() -> None:
    gate = SlowGate(computing_max=1, waiting_max=0, patience_s=1)
    for _ in range(3):
        with pytest.raises(RuntimeError), gate.enter():
            raise RuntimeError
    with gate.enter():
        pass


@pytest.mark.parametrize("wrong", [{"threads": 16}, {"slow_computing_max": 12}, {"slow_waiting_max": 23}])
def test_settings_keep_a_thread_for_quick_answers(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="at least one of the threads free"):
        Settings(**wrong)  # type: ignore[arg-type]


def test_an_unchanged_slow_answer_needs_no_turn(client: FlaskClient) -> None:
    address = "/api/people/p1/learning-path?role=operator"
    etag = client.get(address).headers["ETag"]
    gate: SlowGate = client.application.extensions[EXTENSION].gate
    with ExitStack() as inside:
        for _ in range(Settings().slow_computing_max):
            inside.enter_context(gate.enter())
        assert client.get(address, headers={"If-None-Match": etag}).status_code == 304
