"""Upskilling routes: chains of moves from a profile to a target role, each move within reach. Pure.

Study hours of a route are the least total over all ways to place courses before its moves, so a course before the
first move may serve the third. An offer to the person who asks, not a promise of a post.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace
from typing import Final

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.moves import LEVEL_LIMIT, PREPARATION_LIMIT, require_limits
from ontology.analysis.routes.route_bounds import RouteCosts, Sequenced
from ontology.analysis.routes.route_ranking import Candidate
from ontology.analysis.routes.route_results import (
    BestRoutes,
    DirectMove,
    Route,
    RouteMove,
    RoutesResult,
    RoutesStatus,
    build_direct_move,
    build_route,
)
from ontology.analysis.routes.route_search import RoutesAsked, ShownRoutes, find_shown_routes
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOST_MOVES", "BestRoutes", "DirectMove", "Route", "RouteMove", "RoutesResult", "find_routes"]

OTHER_ROUTES_LIMIT: Final = 20
#: Most moves of a route, unless more are asked for.
MOST_MOVES: Final = 3


def find_routes(
    snapshot: Snapshot,
    profile: Profile,
    role_id: str,
    *,
    max_moves: int = MOST_MOVES,
    preparation_limit: float = PREPARATION_LIMIT,
    level_limit: int = LEVEL_LIMIT,
    avoid: Collection[str] = (),
    via: str | None = None,
    study_hours_per_week: float | None = None,
    time_limit_s: float | None = None,
) -> RoutesResult:
    """Return the upskilling routes from a profile to a role.

    Parameters
    ----------
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
    avoid : collection of str
        Roles that no route moves into.
    via : str or None
        A role that every route passes through on its way; the direct move is told all the same, as ever.
    study_hours_per_week : float or None
        Above 0; paces the months instead of the profile's own hours.
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
        The target is the present role or has no requirements, a limit is out of range, or a role to avoid or to pass
        contradicts what is asked.

    Notes
    -----
    A route is shown only if for every single intermediate role the sequence without it is illegal or has strictly
    more hours. With `via` every sequence without that role is out of what is asked, legal or not, so leaving it out is
    no alternative to measure a route by; leaving out any other intermediate role still is. `lower_bound`, best and
    trade-off are then those of the routes through it. One move can pass through nothing: with `via` and `max_moves`
    1 there is no route.

    The number of sequences grows as (roles)^(max_moves - 1), and each may hold an NP-hard placement; bounds settle
    most of them.
    """
    asked = RoutesAsked(role_id, max_moves, frozenset(avoid), via)
    _require_asked(snapshot, profile, asked)
    require_limits(preparation_limit, level_limit)
    if study_hours_per_week is not None:
        if not 0 < study_hours_per_week < math.inf:
            raise InputError(
                f"Study hours a week are more than 0, not {study_hours_per_week}.", parameter="study_hours_per_week"
            )
        profile = replace(profile, study_hours_per_week=study_hours_per_week)
    costs = RouteCosts(
        snapshot,
        profile,
        preparation_limit=preparation_limit,
        level_limit=level_limit,
        deadline=Deadline(time_limit_s),
    )
    direct = build_direct_move(costs, role_id, preparation_limit, level_limit)
    if via is None and _is_nothing_to_do(direct):
        # no other sequence can be strictly cheaper, so the direct move is the only route shown
        asked = replace(asked, max_moves=1)
    shown = find_shown_routes(costs, asked, OTHER_ROUTES_LIMIT)
    return _summarise(costs, asked, direct, shown)


def _is_nothing_to_do(direct: DirectMove) -> bool:
    return direct.within_reach and direct.study_hours == 0


def _require_asked(snapshot: Snapshot, profile: Profile, asked: RoutesAsked) -> None:
    role_id, via = asked.target, asked.via
    for named in (role_id, *([] if via is None else [via]), *sorted(asked.avoid)):
        snapshot.require_role(named)
    if role_id == profile.role:
        raise InputError(
            f"{role_id!r} is the present role: there is no route to where one is.", parameter="to", value=role_id
        )
    if not snapshot.get_requirements(role_id):
        raise InputError(
            f"{role_id!r} has no requirements: no route can be told to lead there.", parameter="to", value=role_id
        )
    if asked.max_moves < 1:
        raise InputError(f"A route has at least 1 move, not {asked.max_moves}.", parameter="max_moves")
    if role_id in asked.avoid:
        raise InputError(f"{role_id!r} is the target: it cannot be avoided.", parameter="avoid", value=role_id)
    if via is not None:
        _require_way_point(snapshot, profile, asked, via)


def _require_way_point(snapshot: Snapshot, profile: Profile, asked: RoutesAsked, via: str) -> None:
    if via == asked.target:
        raise InputError(
            f"{via!r} is the target: a route ends there and does not pass through it.", parameter="via", value=via
        )
    if via == profile.role:
        raise InputError(f"{via!r} is the present role: no route moves into it.", parameter="via", value=via)
    if via in asked.avoid:
        raise InputError(f"{via!r} cannot be both avoided and passed through.", parameter="via", value=via)
    if not snapshot.get_requirements(via):
        raise InputError(
            f"{via!r} has no requirements: no route can be told to pass through it.", parameter="via", value=via
        )


def _summarise(costs: RouteCosts, asked: RoutesAsked, direct: DirectMove, shown: ShownRoutes) -> RoutesResult:
    built: dict[Sequenced, Route] = {}

    def build(candidate: Candidate) -> Route:
        if candidate.sequence not in built:
            built[candidate.sequence] = build_route(costs, candidate.sequence)
        return built[candidate.sequence]

    ranking = shown.ranking
    best = BestRoutes(*(build(candidate) if candidate else None for candidate in ranking.get_best()))
    rest = ranking.get_rest()
    trade_off = tuple(build(candidate) for candidate in ranking.get_trade_off())
    other_routes = tuple(build(candidate) for candidate in rest[:OTHER_ROUTES_LIMIT])
    remarks = []
    if len(rest) > OTHER_ROUTES_LIMIT or shown.is_cut:
        remarks.append(f"Only the first {OTHER_ROUTES_LIMIT} further routes are listed.")
    if costs.profile.study_hours_per_week <= 0:
        remarks.append("No hours a week are free for study: calendar time is given only where nothing is to study.")
    if not shown.is_complete:
        remarks.append("Not all sequences were settled in time: there may be better routes.")
    elif not costs.is_settled:
        remarks.append("Time was over before the choice among equally good courses was settled.")
    return RoutesResult(
        role=asked.target,
        status=_get_status(asked, direct, shown, costs.is_settled),
        lower_bound=None if shown.lower_bound == math.inf else shown.lower_bound / 60,
        best=best,
        trade_off=trade_off,
        other_routes=other_routes,
        direct=direct,
        remarks=tuple(remarks),
    )


def _get_status(asked: RoutesAsked, direct: DirectMove, shown: ShownRoutes, is_settled: bool) -> RoutesStatus:
    if not shown.is_complete or not is_settled:
        return "feasible"
    if not shown.ranking.candidates:
        return "unreachable"
    return "nothing-to-do" if asked.via is None and _is_nothing_to_do(direct) else "optimal"
