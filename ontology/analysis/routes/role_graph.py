"""The role graph: which moves are within reach for someone fully in a role. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import get_whole_minutes
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.moves import LEVEL_LIMIT, PREPARATION_LIMIT, MoveCosts, find_broken_limits, require_limits
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_role_graph"]


def build_role_graph(
    snapshot: Snapshot,
    *,
    preparation_limit: float = PREPARATION_LIMIT,
    level_limit: int = LEVEL_LIMIT,
    deadline: Deadline | None = None,
) -> nx.DiGraph[str]:
    """Return the graph of moves within reach between full role profiles.

    Parameters
    ----------
    preparation_limit, level_limit : float, int
        As in `moves.find_reachable_roles`.
    deadline : Deadline, optional
        After it no more moves are looked at.

    Returns
    -------
    nx.DiGraph
        A node for every role with requirements, with `label` and `family`; an edge for every move within reach, with
        `study_hours` (its weight) and `months`, the preparation at 4 hours a week. The graph's own attribute
        `undecided` is the matrix, from by to in the order of the nodes, of the moves not looked at: none without a
        deadline. Millions of moves may be left, so they are not named one by one.

    Raises
    ------
    InputError
        A limit is below 0.

    Notes
    -----
    Level limits and landmarks rule most pairs out at once; each other pair takes one small learning path, and equal
    questions are solved once.
    """
    require_limits(preparation_limit, level_limit)
    deadline = Deadline(None) if deadline is None else deadline
    ids = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    undecided = np.zeros((len(ids), len(ids)), dtype=np.bool_)
    graph: nx.DiGraph[str] = nx.DiGraph(undecided=undecided)
    for role_id in ids:
        role = snapshot.roles[role_id]
        graph.add_node(role_id, label=role.label, family=role.family)
    if not ids:
        return graph
    profiles = [build_role_profile(snapshot, role_id) for role_id in ids]
    # role profiles have nothing to renew, so all of them share one catalogue
    costs = MoveCosts(snapshot, profiles[0], Deadline(None))
    levels = _build_levels(snapshot, profiles)
    may_move = np.ones((len(ids), len(ids)), dtype=np.bool_)
    for number, target in enumerate(ids):
        if deadline.is_over():
            break
        may_move[:, number] = _find_starts(costs, levels, target, preparation_limit, level_limit)
    np.fill_diagonal(may_move, False)
    for number, (start, profile) in enumerate(zip(ids, profiles, strict=True)):
        if deadline.is_over():
            undecided[number:] = may_move[number:]
            break
        for place in np.flatnonzero(may_move[number]):
            target = ids[place]
            if deadline.is_over():
                undecided[number, place:] = may_move[number, place:]
                break
            plan = costs.find_plan(profile.levels, target)
            if plan is None or plan.value is None:
                continue
            if not plan.is_proved:  # a stop signal ends even what has no time limit
                undecided[number, place] = True
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


def _build_levels(snapshot: Snapshot, profiles: Sequence[Profile]) -> dict[str, NDArray[np.int16]]:
    """Return competency id -> its level in each profile."""
    places = {competency_id: place for place, competency_id in enumerate(snapshot.competencies)}
    levels = np.zeros((len(places), len(profiles)), dtype=np.int16)
    for number, profile in enumerate(profiles):
        for competency_id, level in profile.levels.items():
            levels[places[competency_id], number] = level
    return {competency_id: levels[place] for competency_id, place in places.items()}


def _find_starts(
    costs: MoveCosts,
    levels: Mapping[str, NDArray[np.int16]],
    target: str,
    preparation_limit: float,
    level_limit: int,
) -> NDArray[np.bool_]:
    """Return which profiles keep the level limit and have landmarks left that fit the preparation; a few too many.

    The landmarks are those of someone who holds nothing: one counts for every profile that holds nothing of its zone.
    """
    count = len(next(iter(levels.values())))
    may = np.ones(count, dtype=np.bool_)
    for i, entry in costs.get_entry_levels(target).items():
        if not costs.snapshot.competencies[i].is_certificate:
            may &= entry - levels[i] <= level_limit
    bound = np.zeros(count)
    if may.any():
        for landmark in costs.get_landmarks({}, target):
            is_met = np.zeros(count, dtype=np.bool_)
            for i, level in landmark.zone:
                is_met |= levels[i] >= level
            bound[~is_met] += landmark.minutes
    limit_minutes = get_whole_minutes(preparation_limit)
    return may & (bound < math.inf if limit_minutes is None else bound <= limit_minutes)
