"""Eight callers write and eight read at once for a while; what they did, what they saw, and what the history says."""

from __future__ import annotations

import random
import threading
import time
from collections import Counter
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from api.app import create_app
from ontology.history.life import find_life
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.store.history import read_commits

WRITERS = READERS = 8
COUNTERS = ("counter-0", "counter-1", "counter-2")
NEEDS = (("pump", 2), ("valve", 2))
FINE = {200, 201, 204, 304, 412}


class Crowd:
    """What sixteen callers do to one application, and what they saw."""

    def __init__(self, app: Flask, graph: LiveGraph, duration_s: float) -> None:
        self.app = app
        self.graph = graph
        self.end = time.monotonic() + duration_s
        self.statuses: Counter[int] = Counter()
        #: of a counter: the reasons of the changes that were stored
        self.raised: dict[str, list[str]] = {counter: [] for counter in COUNTERS}
        self.retries = 0
        self.faults: list[str] = []
        #: revision -> number written into both cover needs by that commit
        self.marked: dict[int, int] = {}
        #: (revision, the numbers an answer of that revision held)
        self.seen: set[tuple[int, tuple[int, ...]]] = set()
        #: address and tag -> the bodies that came under it
        self.bodies: dict[tuple[str, str], set[bytes]] = {}
        self.lock = threading.Lock()

    def note(self, response: Any) -> Any:
        """Count a status and keep the body under its tag."""
        with self.lock:
            self.statuses[response.status_code] += 1
            if response.status_code == 200 and response.request.method == "GET" and "ETag" in response.headers:
                key = (response.request.path, response.headers["ETag"])
                self.bodies.setdefault(key, set()).add(response.data)
        return response

    def run(self, number: int, act: Any) -> None:
        """Do one thing again and again until the time is up."""
        client, rng = self.app.test_client(), random.Random(number)
        try:
            while time.monotonic() < self.end:
                act(client, rng, number)
        except Exception as error:  # told by the test, which fails then
            self.faults.append(f"{act.__name__} {number}: {error!r}")

    # ---- writers ----

    def raise_counter(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Add one to a number that others add to as well; read again as often as somebody else was faster."""
        counter, reason = rng.choice(COUNTERS), f"turn {number} {rng.random()}"
        address = f"/api/roles/{counter}"
        while True:
            read = self.note(client.get(address))
            body = read.json | {"months_to_full": read.json["months_to_full"] + 1}
            headers = {"If-Match": read.headers["ETag"], "Newel-Reason": reason}
            written = self.note(client.put(address, json=body, headers=headers))
            if written.status_code == 200:
                with self.lock:
                    self.raised[counter].append(reason)
                return
            assert written.status_code == 412
            differing = {one["column"] for one in written.json["differs"]}
            assert differing <= {"months_to_full"}, "both versions are of one record"
            self.retries += 1

    def mark_needs(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Write one number into two records in one change."""
        value = rng.randrange(1, 10_000)
        needs = [
            TABLES["cover_needs"].build(team="works", competency=c, level=level, minimum=value, target=value)
            for c, level in NEEDS
        ]
        change = Change(put=tuple(("cover_needs", need) for need in needs))
        applied = self.graph.apply(change, who="test", why=f"marked {value}")
        with self.lock:
            self.marked.setdefault(applied.revision, value)

    def relabel_scale(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Replace all levels of a scale at once, more of them or fewer."""
        label = f"m{rng.randrange(10_000)}"
        levels = [{"rank": rank, "label": label} for rank in range(1, rng.randrange(2, 6))]
        response = self.note(client.put("/api/scales/unused", json={"levels": levels}, headers={"If-Match": "*"}))
        assert response.status_code == 200

    def make_and_remove(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Make a record of one's own, find it, remove it, find it gone."""
        made = self.note(client.post("/api/roles", json={"id": f"own-{number}", "label": "Own"}))
        address = f"/api/roles/own-{number}"
        assert made.status_code == 201
        assert self.note(client.get(address)).json == made.json, "a caller sees what it wrote"
        removed = self.note(client.delete(address, headers={"If-Match": made.headers["ETag"]}))
        assert removed.status_code == 204
        assert client.get(address).status_code == 410, "it was there once"

    # ---- readers ----

    def read_coverage(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Both needs hold the same number, that of the answer's revision."""
        for address in ("/api/teams/works/coverage", "/api/teams/works/single-points-of-failure"):
            answer = self.note(client.get(address)).json
            if "needs" in answer:
                numbers = tuple(sorted({n for need in answer["needs"] for n in (need["minimum"], need["target"])}))
                with self.lock:
                    self.seen.add((answer["revision"], numbers))

    def read_lists(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """A list is of one revision, too; so is a scale with all its levels."""
        needs = self.note(client.get("/api/teams/works/cover-needs")).json
        assert len({need["minimum"] for need in needs} | {need["target"] for need in needs}) == 1, needs
        scale = self.note(client.get("/api/scales/unused")).json
        assert len({level["label"] for level in scale["levels"]}) == 1, scale
        assert [level["rank"] for level in scale["levels"]] == list(range(1, len(scale["levels"]) + 1))

    def read_answers(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """Revisions never go back for one caller, whatever it asks."""
        last = 0
        for address in (
            "/api/people/p1/gap?role=operator",
            "/api/people/p1/learning-path?role=operator",
            "/api/people/p1/routes?to=chief",
            "/api/teams/works/staffing",
            "/api/health",
        ):
            revision = self.note(client.get(address)).json["revision"]
            assert revision >= last
            last = revision

    def read_again(self, client: FlaskClient, rng: random.Random, number: int) -> None:
        """A 304 is given only to who holds the present state."""
        address = f"/api/roles/{rng.choice(COUNTERS)}"
        before = self.graph.get_snapshot().revision
        read = self.note(client.get(address))
        again = self.note(client.get(address, headers={"If-None-Match": read.headers["ETag"]}))
        assert again.status_code in (200, 304)
        if before == self.graph.get_snapshot().revision:
            assert again.status_code == 304


def run_crowd(graph: LiveGraph, duration_s: float) -> Crowd:
    """Let sixteen callers loose on a company for so long, and return what came of it."""
    counters = tuple(("roles", TABLES["roles"].build(id=i, label=i, months_to_full=0)) for i in COUNTERS)
    graph.apply(Change(put=counters), who="test", why="counters at nought")
    crowd = Crowd(create_app(graph), graph, duration_s)
    crowd.mark_needs(FlaskClient(crowd.app), random.Random(0), 0)
    writers = (crowd.raise_counter, crowd.mark_needs, crowd.relabel_scale, crowd.make_and_remove)
    readers = (crowd.read_coverage, crowd.read_lists, crowd.read_answers, crowd.read_again)
    acts = [writers[0]] * 2 + [writers[i % 4] for i in range(WRITERS - 2)] + [readers[i % 4] for i in range(READERS)]
    threads = [threading.Thread(target=crowd.run, args=(number, act)) for number, act in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return crowd


def require_nothing_lost(crowd: Crowd) -> None:
    """Hold what came of it to what must be so: no lost update, no mixed revision, all history there."""
    graph = crowd.graph
    assert crowd.faults == []
    assert set(crowd.statuses) <= FINE, crowd.statuses
    # no update is lost
    assert crowd.retries > 0, "nobody was ever in another's way"
    snapshot = graph.get_snapshot()
    for counter in COUNTERS:
        assert snapshot.roles[counter].months_to_full == len(crowd.raised[counter]) > 0
    # no answer mixes revisions
    assert len(crowd.seen) > 10
    revisions = sorted(crowd.marked)
    for revision, numbers in crowd.seen:
        latest = max(marked for marked in revisions if marked <= revision)
        assert numbers == (crowd.marked[latest],), f"revision {revision}"
    # one tag, one body
    assert [key for key, bodies in crowd.bodies.items() if len(bodies) > 1] == []
    # the store says what the answers said
    assert graph.store.revision == snapshot.revision > 10
    assert compile_snapshot(graph.store) == snapshot
    _require_history(crowd)


def _require_history(crowd: Crowd) -> None:
    """Every change that was stored stands in the history once, in its order, with its reason."""
    graph = crowd.graph
    snapshot = graph.get_snapshot()
    commits = read_commits(graph.store)
    assert [commit.revision for commit in commits] == list(range(1, snapshot.revision + 1))
    for counter in COUNTERS:
        rows = list(reversed(find_life(graph, snapshot, "roles", (counter,)).rows))
        assert [row.change for _, row in rows] == ["added"] + ["changed"] * len(crowd.raised[counter])
        reasons = [commit.why.partition(": ")[2] for commit, _ in rows[1:]]
        assert sorted(reasons) == sorted(crowd.raised[counter])
        steps = [(row.columns[0].before, row.columns[0].after) for _, row in rows[1:]]
        assert steps == [(n, n + 1) for n in range(len(steps))]
    marks = {commit.revision: commit.why for commit in commits if commit.why.startswith("marked ")}
    assert marks == {revision: f"marked {value}" for revision, value in crowd.marked.items()}
