"""The critical chain of a schedule in one call."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ontology.analysis.schedule.critical_chain import build_link_graph, find_critical_chain, measure_slack
from ontology.analysis.schedule.schedule_model import Problem, Window


def find_chain(problem: Problem, windows: Sequence[Window], shares: Sequence[Mapping[int, int]]) -> tuple[int, ...]:
    """Return the tasks of the critical chain, in order."""
    links = build_link_graph(problem, windows, shares)
    return find_critical_chain(problem, windows, links, measure_slack(problem, windows))
