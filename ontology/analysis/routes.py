"""Upskilling routes: chains of moves from a profile to a target role, each move within reach. Pure.

Study hours of a route are the least total over all ways to place courses before its moves, so a course before the
first move may serve the third. An offer to the person who asks, not a promise of a post.
"""

from __future__ import annotations

import math
from typing import Final

from ontology.analysis.levels import Profile
from ontology.analysis.moves import require_limits
from ontology.analysis.route_bounds import RouteCosts, Sequenced
from ontology.analysis.route_ranking import Candidate
from ontology.analysis.route_results import (
    BestRoutes,
    DirectMove,
    Route,
    RouteMove,
    RoutesResult,
    RoutesStatus,
    build_direct_move,
    build_route,
)
from ontology.analysis.route_search import ShownRoutes, find_shown_routes
from ontology.analysis.solver import Deadline
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot

__all__ = ["BestRoutes", "DirectMove", "Route", "RouteMove", "RoutesResult", "find_routes"]

OTHER_ROUTES_LIMIT: Final = 20


def find_routes(
    snapshot: Snapshot,
    profile: Profile,
    role_id: str,
    *,
    max_moves: int = 3,
    preparation_limit: float = 200.0,
    level_limit: int = 2,
    time_limit_s: float | None = None,
) -> RoutesResult:
    """Return the upskilling routes from a profile to a role.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        Of a person, or of a role (`levels.build_role_profile`).
    role_id : str
        The target.
    max_moves : int
        At least 1.
    preparation_limit : float
        Hours of courses between one move and the next, at the most; infinite for none.
    level_limit : int
        Levels that an entry level may lie above the profile when the preparation starts, certificates apart.
    time_limit_s : float or None
        Seconds after which the best found are returned; None: until proved.

    Returns
    -------
    RoutesResult
        At most 20 further routes are listed (a remark says so where there may be more).

    Raises
    ------
    UnknownIdError
        There is no such role.
    InputError
        The target is the present role or has no requirements, or a limit is out of range.

    Notes
    -----
    The number of sequences grows as (roles)^(max_moves - 1), and each may hold an NP-hard placement; bounds settle
    most of them.
    """
    _require_question(snapshot, profile, role_id, max_moves)
    require_limits(preparation_limit, level_limit)
    costs = RouteCosts(
        snapshot,
        profile,
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        deadline=Deadline(time_limit_s),
    )
    direct = build_direct_move(costs, role_id, preparation_limit, level_limit)
    if direct.within_reach and direct.study_hours == 0:
        # no other sequence can be strictly cheaper, so the direct move is the only route shown
        max_moves = 1
    shown = find_shown_routes(costs, role_id, max_moves, OTHER_ROUTES_LIMIT)
    return _summarise(costs, role_id, direct, shown)


def _require_question(snapshot: Snapshot, profile: Profile, role_id: str, max_moves: int) -> None:
    snapshot.require_role(role_id)
    if role_id == profile.role:
        raise InputError(f"{role_id!r} is the present role: there is no route to where one is.", role=role_id)
    if not snapshot.get_requirements(role_id):
        raise InputError(f"{role_id!r} has no requirements: no route can be told to lead there.", role=role_id)
    if max_moves < 1:
        raise InputError(f"A route has at least 1 move, not {max_moves}.")


def _summarise(costs: RouteCosts, role_id: str, direct: DirectMove, shown: ShownRoutes) -> RoutesResult:
    built: dict[Sequenced, Route] = {}

    def build(candidate: Candidate) -> Route:
        if candidate.sequence not in built:
            built[candidate.sequence] = build_route(costs, candidate.sequence)
        return built[candidate.sequence]

    ranking = shown.ranking
    best = BestRoutes(*(build(candidate) if candidate else None for candidate in ranking.get_best()))
    rest = ranking.get_rest()
    remarks = []
    if len(rest) > OTHER_ROUTES_LIMIT or shown.is_cut:
        remarks.append(f"Only the first {OTHER_ROUTES_LIMIT} further routes are listed.")
    if costs.profile.study_hours_per_week <= 0:
        remarks.append("No hours a week are free for study: calendar time is given only where nothing is to study.")
    if not shown.is_complete:
        remarks.append("The time limit struck: there may be better routes.")
    return RoutesResult(
        role=role_id,
        status=_get_status(direct, shown),
        lower_bound=None if shown.lower_bound == math.inf else shown.lower_bound / 60,
        best=best,
        trade_off=tuple(build(candidate) for candidate in ranking.get_trade_off()),
        other_routes=tuple(build(c) for c in rest[:OTHER_ROUTES_LIMIT]),
        direct=direct,
        remarks=tuple(remarks),
    )


def _get_status(direct: DirectMove, shown: ShownRoutes) -> RoutesStatus:
    if not shown.is_complete:
        return "feasible"
    if not shown.ranking.candidates:
        return "unreachable"
    return "nothing-to-do" if direct.within_reach and direct.study_hours == 0 else "optimal"
