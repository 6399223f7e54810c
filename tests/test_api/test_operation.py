"""What runs the service sees: health, logs, metrics; and none of them says of whom."""

from __future__ import annotations

import io
import json
import logging
import re
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from prometheus_client import generate_latest
from rest_company import ANSWERS, ROWS
from werkzeug.test import Client

from api.app import create_app
from api.http.context import EXTENSION
from api.http.front import Front, Seen
from api.http.logs import FIELDS, LineFormatter, log_request, set_up_logs
from api.http.metrics import Metrics
from api.questions.person import gap
from ontology.live.live_graph import LiveGraph

#: Ids and names of the people of the small company, as words.
PEOPLE = re.compile("|".join(rf"\b{row[key]}\b" for row in ROWS["people"] for key in ("id", "name")))
#: And one nobody has.
NOBODY = "nobody-at-all"


@pytest.fixture
def written() -> Iterator[io.StringIO]:
    """What is logged while a test runs."""
    root = logging.getLogger()
    before = (list(root.handlers), root.level)
    stream = io.StringIO()
    set_up_logs(logging.INFO, stream)
    yield stream
    root.handlers[:], level = before
    root.setLevel(level)


def read_lines(written: io.StringIO) -> list[dict[str, Any]]:
    return [json.loads(line) for line in written.getvalue().splitlines()]


def put_in_front(app: Flask, tell: Callable[[Seen], None]) -> Client:
    front = Front(tell)
    front.open(app)
    return Client(front)


def test_health_is_told_by_the_application(client: FlaskClient) -> None:
    for path, word in (("/health/live", "live"), ("/health/ready", "ready")):
        response = client.get(path)
        assert (response.status_code, response.json) == (200, {"status": word})
        assert response.headers["Cache-Control"] == "no-store"


def test_before_it_is_ready_and_once_it_stops_only_health_is_answered(shared_app: Flask) -> None:
    front = Front(lambda seen: None)
    client = Client(front)
    for phase, do in (("loading", lambda: None), ("ready", lambda: front.open(shared_app)), ("stopping", front.close)):
        do()
        assert client.get("/health/live").status_code == 200
        ready = client.get("/health/ready")
        assert (ready.status_code, ready.json) == (200 if phase == "ready" else 503, {"status": phase})
        answers = {path: client.get(path) for path in ("/", "/api/roles", "/api", "/nowhere")}
        if phase == "ready":
            assert answers["/api/roles"].status_code == 200
            continue
        for path, answer in answers.items():
            assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
            is_problem = path.startswith("/api")
            assert answer.mimetype == ("application/problem+json" if is_problem else "text/plain")


def test_what_is_under_way_is_finished_and_only_then_is_it_idle() -> None:
    begun, may_end = threading.Event(), threading.Event()
    seen: list[Seen] = []

    def slow(environ: Any, start_response: Any) -> Iterable[bytes]:
        start_response("200 OK", [])
        begun.set()
        may_end.wait(10)
        return [b"done"]

    front = Front(seen.append)
    front.open(slow)
    client = Client(front)
    found: list[bytes] = []
    asking = threading.Thread(target=lambda: found.append(client.get("/", buffered=True).data))
    asking.start()
    assert begun.wait(10)
    front.close()
    assert not front.wait_until_idle(0.05)
    assert client.get("/").status_code == 503, "nothing new is taken"
    may_end.set()
    assert front.wait_until_idle(10)
    asking.join(10)
    assert found == [b"done"]
    assert [one.status for one in seen] == [200]


def test_an_application_that_fails_leaves_nothing_under_way() -> None:
    def fail(environ: Any, start_response: Any) -> Iterable[bytes]:
        raise RuntimeError("no")

    front = Front(lambda seen: None)
    front.open(fail)
    with pytest.raises(RuntimeError):
        Client(front).get("/")
    assert front.under_way == 0


def test_logs_and_metrics_say_of_every_answer_which_kind_it_was_and_never_of_whom(
    shared_app: Flask, written: io.StringIO
) -> None:
    metrics = Metrics()
    metrics.watch(shared_app.extensions[EXTENSION])
    client = put_in_front(shared_app, lambda seen: (log_request(seen), metrics.count(seen)))
    addresses = [*ANSWERS, *(address.removeprefix("/api") for address in ANSWERS), "/people/p1", "/api/people/p2"]
    addresses += ["/api/people/p1/assessments", f"/api/people/{NOBODY}", f"/{NOBODY}", "/api/people/p1/gap?role=chef"]
    for address in addresses:
        client.get(address, buffered=True)
    client.open("/api/roles", method=NOBODY.upper(), buffered=True)
    lines, told = written.getvalue(), generate_latest(metrics.registry).decode()
    requests = [line for line in read_lines(written) if line["event"] == "request"]
    assert len(requests) == len(addresses) + 1
    pages = [line for line in read_lines(written) if line["event"] == "page of an error"]
    assert {line["request_id"] for line in pages} <= {line["request_id"] for line in requests}
    for text in (lines, told):
        assert not PEOPLE.search(text)
        assert NOBODY not in text.lower()
    routes = {line["route"] for line in requests}
    assert {"/api/people/<id>/gap", "/people/<id>/gap", "none"} <= routes
    assert 'newel_requests_total{method="other",route="none",status="405"} 1.0' in told
    assert "newel_revision 1.0" in told
    assert "newel_slow_computing 0.0" in told


def test_a_line_has_only_fields_of_the_list_and_is_one_line(written: io.StringIO) -> None:
    ours, others = logging.getLogger("api.somewhere"), logging.getLogger("waitress")
    ours.warning("dot remarked on a picture: %s", "Ada Example\r\nforged")
    ours.info("request", extra={"route": "/x", "status": 200, "person": "p1"})
    # a server's own message holds the address
    others.error("Exception while serving /api/people/p1/gap")
    try:
        raise KeyError("p1")
    except KeyError:
        ours.exception("fault: %s", "p1")
    lines = read_lines(written)
    assert [line["event"] for line in lines] == ["dot remarked on a picture", "request", "waitress", "fault"]
    assert all(set(line) <= set(FIELDS) for line in lines)
    assert lines[3]["error"] == "KeyError"
    assert any("test_operation.py" in frame for frame in lines[3]["at"])
    assert not PEOPLE.search(written.getvalue())


def test_a_fault_is_logged_with_the_id_that_is_told_and_without_its_message(
    graph: LiveGraph, written: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError("Ada Example cannot")

    monkeypatch.setattr(gap, "compute_gap", fail)
    response = put_in_front(create_app(graph), log_request).get("/api/people/p1/gap?role=operator", buffered=True)
    assert response.status_code == 500
    fault, request = read_lines(written)
    assert fault["request_id"] == request["request_id"] == response.json["request_id"]
    assert (fault["error"], fault["route"], request["status"]) == ("RuntimeError", "/api/people/<id>/gap", 500)
    assert not PEOPLE.search(written.getvalue())


def test_a_moment_is_written_in_utc() -> None:
    record = logging.LogRecord("newel", logging.INFO, "", 0, "started", (), None)
    record.created = 1_796_000_000.25
    line = json.loads(LineFormatter().format(record))
    assert line == {"time": "2026-11-30T00:53:20.250+00:00", "level": "info", "event": "started"}


def test_slow_answers_are_counted_while_they_compute_and_wait(graph: LiveGraph) -> None:
    desk = create_app(graph).extensions[EXTENSION]
    metrics = Metrics()
    metrics.watch(desk)

    def read() -> tuple[float | None, ...]:
        names = ("newel_slow_computing", "newel_slow_waiting")
        return tuple(metrics.registry.get_sample_value(name) for name in names)

    places = [desk.gate.enter() for _ in range(desk.settings.slow_computing_max)]
    for place in places:
        place.__enter__()
    waiting = desk.gate.enter()
    thread = threading.Thread(target=waiting.__enter__)
    thread.start()
    latest = time.monotonic() + 10
    while read() != (4.0, 1.0) and time.monotonic() < latest:
        time.sleep(0.01)
    assert read() == (4.0, 1.0)
    places[0].__exit__(None, None, None)
    thread.join(10)
    assert read() == (4.0, 0.0)
    for place in (*places[1:], waiting):
        place.__exit__(None, None, None)
    assert read() == (0.0, 0.0)
