"""The demonstration scenario as a Snapshot, for tests that tell its stories."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from loaders.pipeline import load_paths
from ontology.live.live_graph import Change, LiveGraph
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SCENARIO", "add_neighbour", "begin_draft", "load_scenario"]

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


def begin_draft(graph: LiveGraph) -> None:
    """Add the draft "spring" beside the scenario: it asks more of treatment operators, and more people of a team."""
    graph.drafts.start("spring", "Spring 2027", who="test")
    for table, key, values in (
        ("requirements", ("treatment-operator", "coagulation-control"), {"level": 4, "unsupervised_level": 4}),
        ("cover_needs", ("treatment", "work-permits", 3, "team"), {"minimum": 4}),
    ):
        record = replace(graph.get_snapshot().get_record(table, key), **values)
        graph.drafts.edit("spring", Change(put=((table, record),)), who="test", why="edited")
