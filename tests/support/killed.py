"""What a process does before it is killed in the midst of its life."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

__all__ = ["do_and_die"]


def do_and_die(path: Path, lines: str) -> None:
    """Run lines of Python in a process of their own, where `path` is a file; it is killed after the last one."""
    script = (
        f"import os, pathlib, signal, sys\npath = pathlib.Path(sys.argv[1])\n{lines}\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    killed = subprocess.run([sys.executable, "-c", script, str(path)], check=False, timeout=60)
    assert killed.returncode == -signal.SIGKILL
