"""The role graph: which moves are within reach for someone fully in a role. Pure."""

from __future__ import annotations

import networkx as nx

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.profiles.levels import build_role_profile
from ontology.analysis.routes.moves import MoveCosts, find_broken_limits, require_limits
from ontology.graph.snapshot import Snapshot

__all__ = ["build_role_graph"]


def build_role_graph(snapshot: Snapshot, *, preparation_limit: float = 200.0, level_limit: int = 2) -> nx.DiGraph[str]:
    """Return the graph of moves within reach between full role profiles.

    Parameters
    ----------
    snapshot : Snapshot
    preparation_limit, level_limit : float, int
        As in `moves.find_reachable_roles`.

    Returns
    -------
    nx.DiGraph
        A node for every role with requirements, with `label` and `family`; an edge for every move within reach, with
        `study_hours` (its weight) and `months`, the preparation at 4 hours a week.

    Raises
    ------
    InputError
        A limit is below 0.

    Notes
    -----
    One small learning path for each pair that keeps the level limit; equal questions are solved once.
    """
    require_limits(preparation_limit, level_limit)
    graph: nx.DiGraph[str] = nx.DiGraph()
    ids = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    for role_id in ids:
        role = snapshot.roles[role_id]
        graph.add_node(role_id, label=role.label, family=role.family)
    costs: MoveCosts | None = None
    for start in ids:
        profile = build_role_profile(snapshot, start)
        # role profiles have nothing to renew, so all of them share one catalogue
        costs = costs or MoveCosts(snapshot, profile, Deadline(None))
        for target in ids:
            if target == start or find_broken_limits(
                snapshot, profile.levels, target, None, preparation_limit, level_limit
            ):
                continue
            plan = costs.get_plan(profile.levels, target)
            if plan is None or plan.value is None:
                continue
            if find_broken_limits(snapshot, profile.levels, target, plan.value, preparation_limit, level_limit):
                continue
            graph.add_edge(
                start,
                target,
                study_hours=plan.value / 60,
                months=compute_months(plan.value, profile.study_hours_per_week),
            )
    return graph
