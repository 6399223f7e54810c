"""The cover graph of a team on a date: who meets which need, and who is able to fill which place. Pure.

May import networkx, presence, coverage and slots. To be asked and drawn; the answers in numbers are in `coverage`,
`single_points` and `staffing`.
"""

from __future__ import annotations

from datetime import date

import networkx as nx

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.slots import build_slots
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CoverNode", "build_cover_graph"]

CoverNode = tuple[str, ...]
"""("person", id), ("need", competency, level, shift or "", applies) or ("place", id)."""


def build_cover_graph(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()
) -> nx.Graph[CoverNode]:
    """Return the graph of people, needs and places.

    Parameters
    ----------
    away : frozenset of str
        People taken as absent on top of the recorded absences.

    Returns
    -------
    nx.Graph
        Bipartite. Nodes: people with `kind` "person", `shift` and `is_present`; needs with `kind` "need",
        `label`, `level`, `applies`, `shift`, `minimum`, `target`, `depth`, `state`, `together`, each once for every
        shift; places with `kind` "place", `label`, `role`, `shift` and `count`. Edges join a person to the needs
        they are qualified for (`is_present` tells whether they count now) and to the places they can fill now.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    """
    presence = get_presence(snapshot, team_id, on, away)
    graph: nx.Graph[CoverNode] = nx.Graph()
    for person in presence.members:
        graph.add_node(
            ("person", person.id),
            kind="person",
            shift=person.shift,
            is_present=person.id in presence.present_ids,
        )
    scopes = build_need_scopes(presence)
    for scope in scopes:
        need = scope.need
        node: CoverNode = ("need", need.competency, str(need.level), scope.shift or "", need.applies)
        graph.add_node(
            node,
            kind="need",
            label=snapshot.competencies[need.competency].label,
            level=need.level,
            applies=need.applies,
            shift=scope.shift,
            minimum=need.minimum,
            target=need.target,
            depth=scope.depth,
            state=scope.state,
            together=need.together,
        )
        for person_id in scope.qualified:
            graph.add_edge(("person", person_id), node, is_present=person_id in presence.present_ids)
    for place in snapshot.get_places(team_id):
        graph.add_node(
            ("place", place.id),
            kind="place",
            label=snapshot.roles[place.role].label,
            role=place.role,
            shift=place.shift or None,
            count=place.count,
        )
    for slot in build_slots(presence, scopes):
        if slot.place is not None:
            for person_id in slot.able:
                graph.add_edge(("person", person_id), ("place", slot.place), is_present=True)
    return graph
