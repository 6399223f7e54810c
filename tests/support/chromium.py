"""A headless Chromium that looks at an application served on the loopback address, or at a file."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest

#: The shell has no windows of its own to draw: half the processor time of the whole browser, the same pages.
CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


def browse(
    url: str, folder: Path, *more: str, environment: Mapping[str, str] | None = None, budget_ms: int = 8000
) -> tuple[str, str]:
    """Return the page as it stands after its scripts ran, and what the browser logged."""
    assert CHROMIUM is not None
    done = subprocess.run(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            "--disable-dev-shm-usage", "--enable-logging=stderr", f"--virtual-time-budget={budget_ms}",
            f"--user-data-dir={folder / 'profile'}", *more, url,
        ],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
        env={**os.environ, **(environment or {})},
    )  # fmt: skip
    return done.stdout, done.stderr


def require_nothing_refused(log: str) -> None:
    assert "Refused to" not in log
    assert "violates the following Content Security Policy" not in log
