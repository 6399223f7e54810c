"""The demonstration: an invented water utility, a release and a draft of its framework, and that of a neighbour."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

from loaders.pipeline import load_paths
from loaders.report import LoadReport
from ontology.live.live_graph import Change, LiveGraph

__all__ = ["NEIGHBOUR", "SCENARIO", "add_neighbour", "begin_draft", "load_demonstration"]

SCENARIO: Final = Path(__file__).resolve().parents[1] / "data" / "water_utility"
#: The framework of the utility next door, to compare with and map to.
NEIGHBOUR: Final = SCENARIO.parent / "neighbour_utility"
_WHO: Final = "demonstration"


def load_demonstration(graph: LiveGraph) -> LoadReport:
    """Load everything into an empty graph and return what the load of the company came to."""
    report = load_paths(graph, [SCENARIO], who=_WHO)
    graph.releases.name_present("autumn-2026", who=_WHO, reason="As agreed with the crews in October")
    begin_draft(graph)
    add_neighbour(graph)
    return report


def add_neighbour(graph: LiveGraph) -> None:
    """Put the framework of the utility next door beside that of a graph."""
    graph.outside.replace("neighbour", lambda other: load_paths(other, [NEIGHBOUR], who=_WHO))


def begin_draft(graph: LiveGraph) -> None:
    """Begin the draft "spring": it asks more of treatment operators, and more people of their team.

    Two small edits with an effect that surprises: most of those who work alone today no longer would.
    """
    graph.drafts.start("spring", "Spring 2027", who=_WHO)
    for table, key, values in (
        ("requirements", ("treatment-operator", "coagulation-control"), {"level": 4, "unsupervised_level": 4}),
        ("cover_needs", ("treatment", "work-permits", 3, "team"), {"minimum": 4}),
    ):
        record = replace(graph.get_snapshot().get_record(table, key), **values)
        graph.drafts.edit("spring", Change(put=((table, record),)), who=_WHO, why="talked over with the shift leads")
