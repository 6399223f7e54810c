"""The demonstration scenario as a Snapshot, for tests that tell its stories."""

from __future__ import annotations

from functools import lru_cache

from loaders.demonstration import SCENARIO, add_neighbour, begin_draft
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SCENARIO", "add_neighbour", "begin_draft", "load_scenario"]


@lru_cache(maxsize=1)
def load_scenario() -> Snapshot:
    """Return the scenario as its CSV tables say it; loaded once."""
    graph = LiveGraph.in_memory()
    report = load_paths(graph, [SCENARIO])
    assert [finding.format() for finding in report.findings] == []
    snapshot = graph.get_snapshot()
    graph.close()
    return snapshot
