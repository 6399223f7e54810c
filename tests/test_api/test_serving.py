"""A server as a process: it listens while it loads, and finishes what is under way when it is told to stop."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pytest
from rest_company import ROWS

from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

ROOT = Path(__file__).resolve().parents[2]
SUPPORT = ROOT / "tests" / "support"
#: Serves the small company, which is open once a file is there; one address of it takes its time.
_PROGRAM = """
import sys, time, threading
from contextlib import contextmanager
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from rest_company import build_company
from api.settings import Settings
from api.terminal import serving

@contextmanager
def opening():
    while not Path(sys.argv[2]).exists():
        time.sleep(0.01)
    yield build_company()

build = serving.create_app
def create_app(graph, settings, access):
    app = build(graph, settings, access)
    @app.get("/slow/<int:seconds>")
    def slow(seconds):
        time.sleep(seconds)
        return "slow but whole"
    return app

serving.create_app = create_app
settings = Settings(metrics_port=int(sys.argv[4]), stop_within_s=float(sys.argv[5]))
serving.run_server(opening(), "127.0.0.1", int(sys.argv[3]), settings)
"""


def find_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        return int(listening.getsockname()[1])


def ask(port: int, path: str) -> tuple[int, str]:
    """Return status and text; 0 where nobody listens."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=20) as response:
            return response.status, response.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()
    except OSError:
        return 0, ""


def wait_for(port: int, path: str, status: int) -> None:
    latest = time.monotonic() + 60
    while ask(port, path)[0] != status:
        assert time.monotonic() < latest, f"{path} never answered {status}"
        time.sleep(0.05)


class Served:
    """A server in a process of its own."""

    def __init__(self, folder: Path, stop_within_s: float) -> None:
        self.port, self.metrics_port = find_port(), find_port()
        self.opens = folder / "opens"
        self.log: IO[str] = (folder / "log").open("w+", encoding="utf-8")
        numbers = (str(self.port), str(self.metrics_port), str(stop_within_s))
        words = [sys.executable, "-c", _PROGRAM, str(SUPPORT), str(self.opens), *numbers]
        self.process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=self.log)

    def stop(self) -> tuple[int, float]:
        """Tell it to stop; return its exit status and the seconds it took."""
        begun = time.monotonic()
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(30), time.monotonic() - begun


@contextmanager
def serving(folder: Path, stop_within_s: float = 8.0) -> Iterator[Served]:
    served = Served(folder, stop_within_s)
    try:
        yield served
    finally:
        served.process.kill()
        served.process.wait()
        served.log.close()


@pytest.mark.long
def test_it_is_not_ready_before_its_store_is_open_and_finishes_what_is_under_way(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        wait_for(served.port, "/health/live", 200)
        assert ask(served.port, "/health/ready")[0] == 503
        assert ask(served.port, "/api/roles")[0] == 503
        served.opens.touch()
        wait_for(served.port, "/health/ready", 200)
        assert ask(served.port, "/api/people/p1/gap?role=operator")[0] == 200
        counted = 'newel_requests_total{method="GET",route="/api/people/<id>/gap",status="200"} 1.0'
        # it is counted once the answer has gone out
        latest = time.monotonic() + 20
        while counted not in ask(served.metrics_port, "/metrics")[1]:
            assert time.monotonic() < latest
            time.sleep(0.05)
        found: list[tuple[int, str]] = []
        asking = threading.Thread(target=lambda: found.append(ask(served.port, "/slow/2")))
        asking.start()
        time.sleep(0.5)
        threading.Timer(0.3, lambda: found.append(ask(served.port, "/health/ready"))).start()
        status, _ = served.stop()
        asking.join()
        assert status == 0
        assert [one[0] for one in found] == [503, 200], "not ready any more, and the slow answer is whole"
        assert found[1][1] == "slow but whole"
        served.log.seek(0)
        lines = [json.loads(line) for line in served.log]
        assert ("/slow/<int:seconds>", 200) in {(line.get("route"), line.get("status")) for line in lines}
        people = re.compile("|".join(rf"\b{row['id']}\b|{row['name']}" for row in ROWS["people"]))
        served.log.seek(0)
        assert not people.search(served.log.read())


@pytest.mark.long
def test_what_takes_longer_than_the_limit_is_left_behind(tmp_path: Path) -> None:
    with serving(tmp_path, stop_within_s=0.2) as served:
        served.opens.touch()
        wait_for(served.port, "/health/ready", 200)
        threading.Thread(target=ask, args=(served.port, "/slow/60"), daemon=True).start()
        time.sleep(0.3)
        status, seconds = served.stop()
        assert (status, seconds < 20) == (0, True), "it would take a minute"


def test_a_store_is_its_owners_alone_and_a_wider_one_is_warned_of(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from api.terminal.program import program

    folder = tmp_path / "store"
    graph = LiveGraph.open(folder, create=True)
    load_paths(graph, [ROOT / "data" / "water_utility"])
    graph.close()
    assert folder.stat().st_mode & 0o777 == 0o700
    words = ["find", "mirela", "--store", str(folder)]
    assert CliRunner().invoke(program, words).stderr == ""
    folder.chmod(0o750)
    told = CliRunner().invoke(program, words)
    assert told.exit_code == 0
    assert f"chmod 700 {folder}" in told.stderr
    assert CliRunner().invoke(program, ["backup", str(tmp_path / "copy"), "--store", str(folder)]).exit_code == 0
    assert (tmp_path / "copy").stat().st_mode & 0o777 == 0o700
