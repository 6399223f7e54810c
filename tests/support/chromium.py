"""A headless Chromium that looks at an application served on the loopback address."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

CHROMIUM = shutil.which("chromium")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


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


def require_nothing_refused(log: str) -> None:
    assert "Refused to" not in log
    assert "violates the following Content Security Policy" not in log
