"""Eight callers write and eight read for a minute: what they did, and that nothing is lost, mixed or missing.

Run: python -m tests.benchmarks many-callers.
"""

from __future__ import annotations

from crowd import require_nothing_lost, run_crowd
from rest_company import build_company

DURATION_S = 60


def main() -> None:
    """Run it and print what was asked, what was refused, and how far the store came."""
    graph = build_company()
    crowd = run_crowd(graph, DURATION_S)
    require_nothing_lost(crowd)
    statuses = ", ".join(f"{status}: {n:,}" for status, n in sorted(crowd.statuses.items()))
    print(f"{DURATION_S} s, 8 writers, 8 readers: {sum(crowd.statuses.values()):,} requests ({statuses})")
    print(f"{graph.store.revision:,} revisions, {crowd.retries:,} changes made again; nothing lost, mixed or missing")
    graph.close()
