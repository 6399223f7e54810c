"""The learning graph of a path, to be drawn: its courses and booked ones, the levels they reach and ask for. Pure."""

from __future__ import annotations

import networkx as nx

from ontology.analysis.paths.catalogue import Fact, build_catalogue, build_idle_offer
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_path_graph"]


def build_path_graph(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> nx.DiGraph[tuple[str, ...]]:
    """Return the learning graph of an answer, to be drawn.

    Parameters
    ----------
    profile : Profile
        The one the answer was computed for.

    Returns
    -------
    nx.DiGraph
        Nodes ("course", id) with `kind`, `label`, `study_hours`, `cost`, `position`,
        `is_booked`; nodes
        ("level", competency id, rank as text) with `kind`, `label`, `competency`, `level`, `is_target`, `is_held`,
        `is_reachable`. Edges `kind` "reaches" from a course to the levels it gives that are a target or asked for, and
        "asked-by" from a level to the course that asks for it. Acyclic but for levels that several courses give.
    """
    graph: nx.DiGraph[tuple[str, ...]] = nx.DiGraph()
    catalogue = build_catalogue(snapshot, profile)
    by_id = {offer.id: offer for offer in catalogue.offers}
    offers = [by_id.get(course.id) or build_idle_offer(snapshot, course.id) for course in result.taken]
    booked = {row.id for row in result.booked}
    lost = {row.competency for row in result.unreachable}
    levels: dict[Fact, bool] = dict.fromkeys(result.targets.items(), True)
    for offer in offers:
        for fact in offer.conditions:
            levels.setdefault(fact, False)
    for (i, level), is_target in sorted(levels.items()):
        graph.add_node(
            _level_node(i, level),
            kind="level",
            label=snapshot.competencies[i].label,
            competency=i,
            level=level,
            is_target=is_target,
            is_held=profile.get(i) >= level,
            is_reachable=not (is_target and i in lost),
        )
    for position, (offer, course) in enumerate(zip(offers, result.taken, strict=True), start=1):
        node = ("course", offer.id)
        graph.add_node(
            node,
            kind="course",
            label=course.label,
            study_hours=course.study_hours,
            cost=course.cost,
            position=position,
            is_booked=offer.id in booked,
        )
        graph.add_edges_from((_level_node(*fact), node, {"kind": "asked-by"}) for fact in offer.conditions)
    for offer in offers:
        effects = dict(offer.effects)
        for i, level in sorted(levels):
            if profile.get(i) < level <= effects.get(i, 0):
                graph.add_edge(("course", offer.id), _level_node(i, level), kind="reaches")
    return graph


def _level_node(competency_id: str, level: int) -> tuple[str, ...]:
    return ("level", competency_id, str(level))
