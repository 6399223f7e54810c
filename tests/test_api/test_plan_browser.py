"""The development plan in a real browser: nothing is refused, and it prints on A4 pages."""

from __future__ import annotations

import re
import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import waitress
from rest_company import ON, build_company

from api.app import create_app

CHROMIUM = shutil.which("chromium")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    graph = build_company()
    server = waitress.create_server(create_app(graph), host="127.0.0.1", port=0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}/people/p1/development-plan?role=operator&on={ON}"
    server.close()
    server.task_dispatcher.shutdown(cancel_pending=True, timeout=5)
    thread.join(timeout=10)
    graph.close()


def browse(url: str, folder: Path, *more: str) -> tuple[str, str]:
    """Return the page as the browser has it, and what it logged."""
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


def test_the_plan_comes_up_and_nothing_on_it_is_refused(address: str, tmp_path: Path) -> None:
    page, log = browse(address, tmp_path, "--dump-dom")
    assert "Development plan: Operator" in page
    assert "Refused to" not in log
    assert "violates the following Content Security Policy" not in log


def test_the_plan_prints_on_a4(address: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    browse(address, tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={path}")
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", path.read_bytes())
    assert boxes
    # ISO 216: 210 mm by 297 mm in points
    for width, height in boxes:
        assert float(width) == pytest.approx(595.3, abs=1)
        assert float(height) == pytest.approx(841.9, abs=1)
