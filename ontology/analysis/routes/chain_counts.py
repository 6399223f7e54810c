"""How many cheapest chains of moves pass through a move, a role, a competency: betweenness on the role graph. Pure.

Chains of least study hours between any two roles, each move counting one hour more; equally cheap ones share a count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import networkx as nx

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.moves import MoveCosts
from ontology.snapshot.snapshot import Snapshot

__all__ = ["EFFORT", "CentralRole", "PivotalCompetency", "count_chains", "rank_competencies", "rank_roles"]

#: The weight of a move: minutes of study, and an hour for moving at all.
EFFORT: Final = "effort_minutes"
#: Chains are counted in fractions: less than this is none.
_LEAST: Final = 1e-6

Move = tuple[str, str]


@dataclass(frozen=True, slots=True)
class PivotalCompetency:
    """A competency that holds routes up: the share of all cheapest chains of moves that wait for it to be learned."""

    competency: Annotated[str, "Id of the competency."]
    label: Annotated[str, "Its label."]
    betweenness: Annotated[float, "Betweenness of the moves that wait for it, added up."]
    moves: Annotated[int, "Moves within reach that ask it to be learned."]


@dataclass(frozen=True, slots=True)
class CentralRole:
    """A role that cheapest chains of moves pass through: betweenness on the role graph, 0..1."""

    id: Annotated[str, "Id of the role."]
    label: Annotated[str, "Its label."]
    betweenness: Annotated[float, "Share of cheapest chains of moves through it, 0..1."]


def count_chains(graph: nx.DiGraph[str], deadline: Deadline) -> dict[Move, float] | None:
    """Return for each move the cheapest chains through it; None where the time does not suffice.

    Parameters
    ----------
    graph : nx.DiGraph
        Roles and moves with their effort, above 0.
    deadline : Deadline
        Looked at from role to role.

    References
    ----------
    .. [1] Brandes (2001), Journal of Mathematical Sociology 25, 163-177.
    """
    everywhere = list(graph)
    totals = dict.fromkeys(graph.edges, 0.0)
    for start in everywhere:
        if deadline.is_over():
            return None
        shares = nx.edge_betweenness_centrality_subset(graph, [start], everywhere, normalized=False, weight=EFFORT)
        for move, share in shares.items():
            if share:
                totals[move] += share
    return totals


def rank_competencies(
    snapshot: Snapshot,
    graph: nx.DiGraph[str],
    chains: Mapping[Move, float],
    costs: MoveCosts,
    profiles: Mapping[str, Profile],
) -> tuple[PivotalCompetency, ...]:
    """Return the twenty competencies that most chains wait for: those of moves that ask them to be learned."""
    pairs = len(graph) * (len(graph) - 1)
    totals: dict[str, float] = {}
    counts: dict[str, int] = {}
    for (start, target), count in sorted(chains.items()):
        held = profiles[start].levels
        for i, entry in costs.get_entry_levels(target).items():
            if entry > held.get(i, 0):
                totals[i] = totals.get(i, 0.0) + count / pairs
                counts[i] = counts.get(i, 0) + 1
    rows = [
        PivotalCompetency(i, snapshot.competencies[i].label, round(total, 6), counts[i])
        for i, total in totals.items()
        if total > 0
    ]
    return tuple(sorted(rows, key=lambda row: (-row.betweenness, row.competency))[:20])


def rank_roles(snapshot: Snapshot, graph: nx.DiGraph[str], chains: Mapping[Move, float]) -> tuple[CentralRole, ...]:
    """Return the twenty roles that most chains pass through: what comes in, less what ends there."""
    if not chains:
        return ()
    passing = dict.fromkeys(graph, 0.0)
    for (_, target), count in chains.items():
        passing[target] += count
    pairs = (len(graph) - 1) * (len(graph) - 2)
    rows = []
    for i, count in passing.items():
        through = count - len(nx.ancestors(graph, i))
        if through > _LEAST:
            rows.append(CentralRole(i, snapshot.roles[i].label, round(through / pairs, 6)))
    return tuple(sorted(rows, key=lambda row: (-row.betweenness, row.id))[:20])
