"""How many answers of each kind a server gives per second, as a ratio to a bare Flask page of the same size.

Run: ``python tests/benchmarks/server_throughput.py [--seconds S] [--clients N]`` from the project's folder.

The demonstration scenario and the bare page are served by waitress with the same number of threads, each in a process
of its own on a loopback port; the same clients ask both in turns, so what else the machine does hits both alike. A
ratio of 1 would be an answer that costs nothing beside Flask itself: first where every question is a new one, then
where one question is asked again and again. The ratio of processor time a new answer takes of its server stands beside
them, since it hardly depends on what else the machine does. Peak memory is the server's (VmHWM, Linux).
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]

from socket_client import ask_once, ask_until  # noqa: E402

from api.http.collection import COLLECTIONS  # noqa: E402
from api.settings import Settings  # noqa: E402

ROUNDS = 7
GOAL = 0.5
#: Answers the goal is about.
GOAL_FOR = ("gap", "coverage")
DAY = date(2026, 11, 24)
TREATMENT = "/api/teams/treatment"


def _ask_person(rest: str) -> Callable[[Scenario, int], str]:
    """Return the n-th question about a person: each of them on one day, then on the next day."""

    def build(scenario: Scenario, n: int) -> str:
        days, index = divmod(n, len(scenario.people))
        joined = "&" if "?" in rest else "?"
        return f"/api/people/{scenario.people[index]}/{rest}{joined}on={DAY + timedelta(days % 2000)}"

    return build


def _ask_team(part: str) -> Callable[[Scenario, int], str]:
    """Return the n-th question about a team: what if some person is away, on one day and on the next."""

    def build(scenario: Scenario, n: int) -> str:
        days, index = divmod(n, len(scenario.people))
        return f"{TREATMENT}/{part}?away={scenario.people[index]}&on={DAY + timedelta(days % 2000)}"

    return build


#: Kind of answer -> the address of its n-th question; none comes twice within a run but of records and health.
QUESTIONS: dict[str, Callable[[Scenario, int], str]] = {
    "gap": _ask_person("gap?role=treatment-operator"),
    "learning path": _ask_person("learning-path?role=treatment-operator"),
    "routes": _ask_person("routes?to=quality-manager&max_moves=2"),
    "reachable roles": _ask_person("reachable-roles"),
    "similar": lambda scenario, n: f"/api/roles/treatment-operator/similar?limit={1 + n % 1000}",
    "coverage": _ask_team("coverage"),
    "single points": _ask_team("single-points-of-failure"),
    "staffing": _ask_team("staffing"),
    "cross-training": _ask_team("cross-training"),
    "record": lambda scenario, n: f"/api/people/{scenario.people[n % len(scenario.people)]}",
    "list of 50": lambda scenario, n: f"/api/assessments?page_size=50&page={1 + n % 4}",
    "health": lambda scenario, n: "/api/health",
}

SERVE_SCENARIO = """
import sys
from pathlib import Path
import waitress
from api.app import create_app
from api.memory import collect_seldom
from api.settings import Settings  # noqa: E402
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
collect_seldom()  # as `newel serve` does
graph = LiveGraph.open(Path(sys.argv[1]), create=True)
load_paths(graph, [Path("data/water_utility")], who="benchmark")
app = create_app(graph)
threads = Settings().threads
"""
SERVE_BARE = """
import sys
import waitress
from flask import Flask, Response
app = Flask("bare")
@app.get("/bytes/<int:size>")
def show(size):
    return Response(b"x" * size, content_type="application/json")
threads = int(sys.argv[1])
"""
#: How many wait for a thread is no news here.
_RUN = """
import logging
logging.getLogger("waitress.queue").setLevel("ERROR")
server = waitress.create_server(app, host="127.0.0.1", port=0, threads=threads)
print(server.effective_port, threads, flush=True)
server.run()
"""


@dataclass(frozen=True)
class Scenario:
    """Whom the questions are about: ids of people who have started, sorted."""

    people: tuple[str, ...]


@dataclass(frozen=True)
class Server:
    """A server in a process of its own."""

    pid: int
    port: int
    threads: int

    def read_peak_mb(self) -> float:
        """Return the most memory it has held, in MB; 0 where the system does not tell."""
        status = Path(f"/proc/{self.pid}/status")
        lines = status.read_text().splitlines() if status.exists() else []
        return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), 0.0)

    def read_cpu_s(self) -> float:
        """Return the processor time it has taken, in seconds; not a number where the system does not tell."""
        path = Path(f"/proc/{self.pid}/stat")
        if not path.exists():
            return math.nan
        fields = path.read_text().rpartition(")")[2].split()  # the name before may hold blanks
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def start(source: str, argument: str) -> Iterator[Server]:
    """Run a server while the block runs."""
    process = subprocess.Popen(
        [sys.executable, "-c", source + _RUN, argument], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    try:
        port, threads = process.stdout.readline().split()
        yield Server(process.pid, int(port), int(threads))
    finally:
        process.terminate()
        process.wait(20)
        process.stdout.close()


def measure_rate(
    server: Server,
    addresses: Callable[[int], str],
    clients: int,
    seconds: float,
    *,
    headers: str = "",
    status: int = 200,
) -> tuple[float, float, int]:
    """Return answers per second, the server's seconds of processor time for them, and how many there were.

    Each of the clients asks again as soon as it is answered; all answers have the status.
    """
    counts = [0] * clients
    numbers = itertools.count()  # shared: no two clients ask the same
    end = time.monotonic() + seconds

    def run(client: int) -> None:
        counts[client] = ask_until(server.port, map(addresses, numbers), end, headers=headers, status=status)

    threads = [threading.Thread(target=run, args=(client,)) for client in range(clients)]
    begun, begun_cpu_s = time.monotonic(), server.read_cpu_s()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / (time.monotonic() - begun), server.read_cpu_s() - begun_cpu_s, sum(counts)


@dataclass(frozen=True)
class Row:
    """One line of the table: size in bytes, answers a second, ratios to the bare page."""

    size: int
    new_rate: float
    new_ratio: float
    again_ratio: float
    cpu_ratio: float


def measure_row(server: Server, bare: Server, question: Callable[[int], str], clients: int, seconds: float) -> Row:
    """Return medians over some rounds; every question is new in the first column, one is repeated in the last."""
    status, size = ask_once(server.port, question(0))
    if status != 200:
        raise SystemExit(f"{question(0)} answers with status {status}")
    asked = 1
    rates, new, again = [], [], []
    new_cpu_s = peer_cpu_s = 0.0
    n_new = n_peer = 0
    for _ in range(ROUNDS):
        first = asked
        rate, cpu_s, n = measure_rate(server, lambda n, first=first: question(first + n), clients, seconds / ROUNDS)  # type: ignore[misc]
        asked += n + clients
        new_cpu_s, n_new = new_cpu_s + cpu_s, n_new + n
        repeated, _, _ = measure_rate(server, lambda n: question(0), clients, seconds / ROUNDS)
        peer, cpu_s, n = measure_rate(bare, lambda n: f"/bytes/{size}", clients, seconds / ROUNDS)
        peer_cpu_s, n_peer = peer_cpu_s + cpu_s, n_peer + n
        rates.append(rate)
        new.append(rate / peer)
        again.append(repeated / peer)
    cpu_ratio = (peer_cpu_s / n_peer) / (new_cpu_s / n_new) if new_cpu_s else math.nan
    return Row(size, statistics.median(rates), statistics.median(new), statistics.median(again), cpu_ratio)


def read_ids(server: Server, table: str) -> tuple[str, ...]:
    """Return the ids of a table's first thousand records, as addresses have them."""
    address = f"http://127.0.0.1:{server.port}/api/{table}?page_size=1000"
    with urllib.request.urlopen(address, timeout=60) as response:
        return tuple(_get_id(record) for record in json.load(response))


def _get_id(record: dict[str, Any]) -> str:
    """Return a record's id; that of an assessment is made of its key."""
    names = ("id",) if "id" in record else COLLECTIONS["assessments"].key_names
    return "~".join(str(record[name] or "") for name in names)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=2.0, help="for each figure")
    parser.add_argument("--clients", type=int, default=4)
    parser.add_argument("--only", choices=list(QUESTIONS), nargs="*", help="these rows")
    options = parser.parse_args(arguments)
    with (
        tempfile.TemporaryDirectory() as folder,
        start(SERVE_SCENARIO, str(Path(folder) / "store")) as server,
        start(SERVE_BARE, str(Settings().threads)) as bare,
    ):
        begun_mb = server.read_peak_mb()
        scenario = Scenario(read_ids(server, "people"))
        print(f"{options.clients} clients, {server.threads} threads; a bare Flask page of the same size is 1")
        print(f"{'answer':<17}{'bytes':>8}{'new, per s':>12}{'ratio':>8}{'again':>8}{'cpu':>8}{'peak MB':>9}")
        for name in options.only or QUESTIONS:
            row = measure_row(server, bare, partial(QUESTIONS[name], scenario), options.clients, options.seconds)
            goal = f"   goal {GOAL}" if name in GOAL_FOR else ""
            print(
                f"{name:<17}{row.size:>8,}{row.new_rate:>12,.1f}{row.new_ratio:>8.3f}{row.again_ratio:>8.3f}"
                f"{row.cpu_ratio:>8.3f}{server.read_peak_mb():>9.0f}{goal}",
                flush=True,
            )
        print(f"peak memory after loading: {begun_mb:.0f} MB; of the bare server: {bare.read_peak_mb():.0f} MB")


if __name__ == "__main__":
    main()
