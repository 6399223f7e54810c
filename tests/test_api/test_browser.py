"""The pages in a real browser: they come up, nothing is refused, and nobody else is asked."""

from __future__ import annotations

import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import waitress
from companies import build_company

from api.app import create_app
from ontology.graph.live import LiveGraph

CHROMIUM = shutil.which("chromium")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    graph = LiveGraph.in_memory()
    graph.load(build_company(5), who="t", why="w")
    server = waitress.create_server(create_app(graph), host="127.0.0.1", port=0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    server.task_dispatcher.shutdown(cancel_pending=True, timeout=5)
    thread.join(timeout=10)
    graph.close()


def browse(url: str, folder: Path, *more: str) -> tuple[str, str]:
    """Return the page as it stands after its scripts ran, and what the browser logged."""
    assert CHROMIUM is not None
    done = subprocess.run(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            "--disable-dev-shm-usage", "--enable-logging=stderr", "--virtual-time-budget=8000",
            f"--user-data-dir={folder / 'profile'}", *more, url,
        ],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )  # fmt: skip
    return done.stdout, done.stderr


def test_the_start_page_comes_up_and_nothing_on_it_is_refused(address: str, tmp_path: Path) -> None:
    page, log = browse(f"{address}/", tmp_path, "--dump-dom")
    assert "<h1" in page
    assert "Refused to" not in log
    assert "violates the following Content Security Policy" not in log


def test_the_start_page_fits_a_phone(address: str, tmp_path: Path) -> None:
    picture = tmp_path / "phone.png"
    browse(f"{address}/", tmp_path, "--window-size=390,844", f"--screenshot={picture}")
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert picture.stat().st_size > 10_000, "the picture of the page is blank"


def test_the_description_of_the_api_can_be_browsed_without_asking_anyone_else(address: str, tmp_path: Path) -> None:
    page, log = browse(f"{address}/api/browse/", tmp_path, "--dump-dom")
    assert page.count('class="opblock-tag"') >= 14, "the viewer has not drawn the groups of paths"
    assert "Refused to" not in log
    assert "net::ERR" not in log
