"""Answers are kept for who asks the same again, and never outlive the state they are about."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from held import replace_held
from rest_company import ANSWERS, add_beside

from api.app import create_app
from api.desk import desk
from api.desk.answer_cache import AnswerCache
from api.http.context import EXTENSION
from api.questions.person import learning_path
from api.questions.team import coverage, coverage_timeline
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store

ADDRESS = "/api/teams/works/coverage?on=2026-11-24"


def count_calls(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Note every call of the analysis."""
    calls: list[Any] = []
    compute = coverage.compute_cover_of_day

    def noted(*arguments: Any, **more: Any) -> Any:
        calls.append(arguments)
        return compute(*arguments, **more)

    replace_held(monkeypatch, coverage.QUESTION, noted)
    return calls


@pytest.fixture(scope="module")
def clients(company_quads: list[Quad]) -> Iterator[tuple[FlaskClient, FlaskClient]]:
    """Who is told what was kept, and who is not: of one company, of which nobody has asked anything yet."""
    store = Store.in_memory()
    store.commit(company_quads, [], who="test", why="the company", expected_revision=store.revision)
    graph = LiveGraph(store)
    add_beside(graph)
    yield create_app(graph).test_client(), create_app(graph, Settings(answer_cache_bytes=0)).test_client()
    graph.close()


@pytest.mark.parametrize("address", ANSWERS)
def test_an_answer_asked_again_is_the_same_text(clients: tuple[FlaskClient, FlaskClient], address: str) -> None:
    kept, not_kept = clients
    first = kept.get(address)
    assert first.status_code == 200
    for again in (kept.get(address), not_kept.get(address), not_kept.get(address)):
        assert (again.data, again.headers["ETag"]) == (first.data, first.headers["ETag"])
        assert dict(again.headers) == dict(first.headers)


def test_the_same_question_is_computed_once(graph: LiveGraph, monkeypatch: pytest.MonkeyPatch) -> None:
    calls = count_calls(monkeypatch)
    client = create_app(graph).test_client()
    for _ in range(3):
        assert client.get(ADDRESS).status_code == 200
    assert len(calls) == 1
    client.get(ADDRESS + "&away=p1")
    client.get("/api/teams/works/coverage?on=2026-11-25")
    assert len(calls) == 3
    assert create_app(graph, Settings(answer_cache_bytes=0)).test_client().get(ADDRESS).status_code == 200
    assert len(calls) == 4


def test_a_slow_answer_is_found_once_for_all_its_forms(writer: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[Any] = []
    compute = coverage_timeline.compute_cover_timeline
    noted = lambda *arguments, **more: calls.append(arguments) or compute(*arguments, **more)  # noqa: E731
    monkeypatch.setattr(coverage_timeline, "compute_cover_timeline", noted)
    client, address = writer, "/teams/works/coverage-timeline?on=2026-11-24"
    first = client.get(f"/api{address}").json
    for form in ("xlsx", "html", "json"):
        assert client.get(f"/api{address}&format={form}").status_code == 200
    assert client.get(address).status_code == 200
    assert client.get(f"/api{address}").json == first
    assert len(calls) == 1
    client.get(f"/api{address}&weeks=2&format=xlsx")
    assert len(calls) == 2
    body = {"competency": "valve", "level": 2, "date": "2026-11-01", "source": "assessor"}
    assert client.post("/api/people/p3/assessments", json=body).status_code == 201
    client.get(f"/api{address}&format=xlsx")
    assert len(calls) == 3, "of another revision"


def test_a_change_is_seen_by_the_next_question(writer: FlaskClient) -> None:
    before = writer.get(ADDRESS).json or {}
    body = {"competency": "valve", "level": 2, "date": "2026-11-01", "source": "assessor"}
    assert writer.post("/api/people/p3/assessments", json=body).status_code == 201
    after = writer.get(ADDRESS).json or {}
    assert (before["revision"], after["revision"]) == (1, 2)
    depths = [{need["competency"]: need["depth"] for need in answer["needs"]}["valve"] for answer in (before, after)]
    assert depths == [1, 2]
    assert (
        writer.delete("/api/assessments/p3~valve~2026-11-01~assessor~~2", headers={"If-Match": "*"}).status_code == 204
    )
    again = writer.get(ADDRESS).json or {}
    assert again["revision"] == 3
    assert again["needs"] == before["needs"]


def test_another_store_has_other_answers(writable_app: Flask, graph: LiveGraph) -> None:
    writable_app.extensions[EXTENSION].graph = graph
    client = writable_app.test_client()
    assert client.get(ADDRESS).status_code == 200
    writable_app.extensions[EXTENSION].graph = LiveGraph.in_memory()
    assert client.get(ADDRESS).status_code == 404


def test_today_ends(graph: LiveGraph, monkeypatch: pytest.MonkeyPatch) -> None:
    client = create_app(graph).test_client()
    days = ["2026-12-01", "2026-12-06"]
    absent = []
    for day in days:
        monkeypatch.setattr(desk, "get_utc_day", lambda day=day: dt.date.fromisoformat(day))
        answer = client.get("/api/teams/works/coverage").json or {}
        monkeypatch.undo()
        assert answer["on"] == day
        absent.append(answer["absent"])
    assert absent == [["p3"], []]


def test_what_the_time_limit_cut_short_is_computed_again(graph: LiveGraph, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[Any] = ["feasible", "optimal", "never asked for"]
    find = learning_path.find_path
    monkeypatch.setattr(learning_path, "find_path", lambda *a, **more: replace(find(*a, **more), status=told.pop(0)))
    client = create_app(graph).test_client()
    address = "/api/people/p1/learning-path?role=operator"
    assert [(client.get(address).json or {})["status"] for _ in range(4)] == [
        "feasible",
        "optimal",
        "optimal",
        "optimal",
    ]


def test_an_error_is_not_kept(graph: LiveGraph, monkeypatch: pytest.MonkeyPatch) -> None:
    client = create_app(graph).test_client()
    replace_held(monkeypatch, coverage.QUESTION, lambda *_, **__: 1 / 0)
    assert client.get(ADDRESS).status_code == 500
    monkeypatch.undo()
    assert client.get(ADDRESS).status_code == 200


def test_what_was_asked_for_longest_ago_falls_out() -> None:
    cache = AnswerCache(80)
    for tag in "abcdefgh":
        cache.put(tag, b"x" * 10)
    assert cache.get("a") == b"x" * 10
    cache.put("i", b"y" * 10)
    assert cache.get("b") is None
    assert cache.get("a") is not None
    cache.put("a", b"z")
    cache.put("j", b"y" * 9)
    assert (cache.get("a"), cache.get("c")) == (b"z", b"x" * 10), "a shorter text makes room"
    cache.put("k", b"x" * 11)
    assert cache.get("k") is None, "too large to be worth the room"


def test_the_cache_never_holds_more_than_its_limit_whoever_writes() -> None:
    cache = AnswerCache(1_000)

    def write(start: int) -> None:
        for i in range(500):
            cache.put(str((start + i) % 70), b"x" * (1 + (start * i) % 120))

    threads = [threading.Thread(target=write, args=(start,)) for start in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    held = [content for tag in range(70) if (content := cache.get(str(tag))) is not None]
    assert 0 < sum(map(len, held)) <= 1_000
