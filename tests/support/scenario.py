"""The demonstration scenario as a Snapshot, for tests that tell its stories."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SCENARIO", "add_neighbour", "load_scenario"]

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


def add_neighbour(graph: LiveGraph) -> None:
    """Put the framework of the utility next door beside that of a graph, as the demonstration does."""
    graph.outside.replace("neighbour", lambda other: load_paths(other, [SCENARIO.parent / "neighbour_utility"]))


@lru_cache(maxsize=1)
def load_scenario() -> Snapshot:
    """Return the scenario as its CSV tables say it; loaded once."""
    graph = LiveGraph.in_memory()
    report = load_paths(graph, [SCENARIO])
    assert [finding.format() for finding in report.findings] == []
    snapshot = graph.get_snapshot()
    graph.close()
    return snapshot
