"""What a command takes until it is done, beside Python with click and rich alone: processor time of a process each.

Rows: `newel --help`, help of a command, short questions of the demonstration, and one that is solved.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

ROOT: Final = Path(__file__).resolve().parents[2]
RUNS: Final = 7
COMMANDS: Final = (
    ("--help",),
    ("gap", "--help"),
    ("find", "mirela"),
    ("gap", "p008", "treatment-operator"),
    ("coverage", "treatment"),
    ("learning-path", "p063", "laboratory-analyst"),
)


def measure_cpu_s(call: list[str], environment: dict[str, str]) -> float:
    """Return the least processor time, in seconds, of some runs of a process that ends well."""
    least = float("inf")
    for _ in range(RUNS):
        before = _read_cpu_s()
        subprocess.run(call, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, check=True)
        least = min(least, _read_cpu_s() - before)
    return least


def _read_cpu_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "store"
        graph = LiveGraph.open(store, create=True)
        load_paths(graph, [ROOT / "data" / "water_utility"])
        graph.close()
        environment = os.environ | {"NEWEL_STORE": str(store)}
        bare = measure_cpu_s([sys.executable, "-c", "import click, rich"], environment)
        print(f"{'newel ...':<40} {'s more':>8} {'ratio':>7}   (import click, rich: {bare:.3f} s)")
        for words in COMMANDS:
            taken = measure_cpu_s([sys.executable, "-m", "api", *words], environment)
            print(f"{' '.join(words):<40} {taken - bare:8.3f} {taken / bare:7.1f}")


if __name__ == "__main__":
    main()
