"""Rules on hierarchies: cycles in broader, holds_while and the parts of teams, each with its nodes.

A cycle in skos:broader is consistent in SKOS (Reference, example 37); that it is remarked is our own rule.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import networkx as nx

from ontology.checks.rules.base import Problem
from ontology.errors import Severity
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class HierarchyRule:
    """A rule against cycles in one relation of one table."""

    name: str
    severity: Severity
    table: str
    column: str
    reason: str

    def get_parents(self, snapshot: Snapshot) -> Mapping[str, tuple[str, ...]]:
        """Return id -> the ids one step up."""
        if self.table == "teams":
            return {team.id: (team.part_of,) for team in snapshot.teams.values() if team.part_of}
        above = ((c.id, getattr(c, self.column)) for c in snapshot.competencies.values())
        return {competency_id: ids for competency_id, ids in above if ids}

    def check(self, snapshot: Snapshot, touched: Collection[str] | None = None) -> Iterator[tuple[str, Problem]]:
        """Yield (id, problem) for each knot of cycles, or for those through some of the ids `touched`.

        Each is told once, addressed to its smallest id (of `touched`), and names a shortest cycle through it, then
        the rest.
        """
        parents = self.get_parents(snapshot)
        if touched is None:
            for knot in find_knots(parents):
                yield knot[0], self._describe(parents, knot, knot[0])
            return
        told: set[str] = set()
        for node in sorted(touched):
            knot = [] if node in told else find_knot_of(parents, node)
            if knot:
                told.update(knot)
                yield node, self._describe(parents, knot, node)

    def _describe(self, parents: Mapping[str, tuple[str, ...]], knot: list[str], start: str) -> Problem:
        cycle = find_cycle_through(parents, start)
        shown = " > ".join([*cycle, start])
        others = [node for node in knot if node not in cycle]
        more = f" (and, knotted with them: {', '.join(others)})" if others else ""
        return Problem(self.column, shown, f"{self.reason}: {shown}{more}")


def _build_graph(parents: Mapping[str, tuple[str, ...]]) -> nx.DiGraph[str]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edges_from((child, parent) for child, group in parents.items() for parent in group)
    return graph


def find_knots(parents: Mapping[str, tuple[str, ...]]) -> list[list[str]]:
    """Return the strongly connected components that hold a cycle, each sorted, in the order of smallest ids.

    O(n + m) for n nodes and m links.
    """
    graph = _build_graph(parents)
    components = (sorted(component) for component in nx.strongly_connected_components(graph))
    return sorted(c for c in components if len(c) > 1 or graph.has_edge(c[0], c[0]))


def _get_ancestors(parents: Mapping[str, tuple[str, ...]], start: str) -> dict[str, str]:
    """Return every node above `start` -> the node below it on a shortest way up (breadth first)."""
    below: dict[str, str] = {}
    waiting = [start]
    for node in waiting:
        for parent in sorted(parents.get(node, ())):
            if parent not in below:
                below[parent] = node
                waiting.append(parent)
    return below


def find_knot_of(parents: Mapping[str, tuple[str, ...]], start: str) -> list[str]:
    """Return the sorted nodes that are above and below `start` at once, or [] where no cycle leads through it."""
    above = _get_ancestors(parents, start)
    if start not in above:
        return []
    return sorted(node for node in above if start in _get_ancestors(parents, node))


def find_cycle_through(parents: Mapping[str, tuple[str, ...]], start: str) -> list[str]:
    """Return the nodes of a shortest cycle from `start` upwards; `start` must lie on one."""
    below = _get_ancestors(parents, start)
    way = [below[start]]
    while way[-1] != start:
        way.append(below[way[-1]])
    return way[::-1]


RULES: Final = (
    HierarchyRule(
        "cycle in broader",
        "remark",
        "competencies",
        "broader",
        "each of these competencies is broader than itself (SKOS allows it, this rule is ours)",
    ),
    HierarchyRule("cycle in part_of", "error", "teams", "part_of", "a team cannot be a part of itself"),
    HierarchyRule(
        "cycle in holds_while",
        "error",
        "competencies",
        "holds_while",
        "a competency cannot hang on itself: none of these would ever be held",
    ),
)
