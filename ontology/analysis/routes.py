"""Upskilling routes: chains of moves from a profile to a target role, each move within reach. Pure.

Study hours of a route are the least total over all ways to place courses before its moves, so a course before the
first move may serve the third. An offer to the person who asks, not a promise of a post.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from ontology.analysis.levels import Profile
from ontology.analysis.moves import require_limits
from ontology.analysis.route_bounds import RouteCosts, Sequenced
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


@dataclass(frozen=True, slots=True)
class _Candidate:
    sequence: Sequenced
    minutes: int
    months: Fraction | float

    def by_hours(self) -> tuple[int, Fraction | float, int, Sequenced]:
        return self.minutes, self.months, len(self.sequence), self.sequence

    def by_months(self) -> tuple[Fraction | float, int, int, Sequenced]:
        return self.months, self.minutes, len(self.sequence), self.sequence

    def by_moves(self) -> tuple[int, int, Fraction | float, Sequenced]:
        return len(self.sequence), self.minutes, self.months, self.sequence


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
        At most 20 further routes are listed (a remark counts the rest).

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
    shown = find_shown_routes(costs, role_id, max_moves)
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
    candidates = [
        _Candidate(sequence, minutes, _get_months(costs, sequence, minutes))
        for sequence, minutes in shown.minutes.items()
    ]
    built: dict[Sequenced, Route] = {}

    def build(candidate: _Candidate) -> Route:
        if candidate.sequence not in built:
            built[candidate.sequence] = build_route(costs, candidate.sequence)
        return built[candidate.sequence]

    def pick(key: Callable[[_Candidate], tuple[object, ...]]) -> Route | None:
        return build(min(candidates, key=key)) if candidates else None

    best = BestRoutes(pick(_Candidate.by_hours), pick(_Candidate.by_months), pick(_Candidate.by_moves))
    ordered = sorted(candidates, key=_Candidate.by_hours)
    trade_off = [build(c) for c in _keep_trade_off(ordered)]
    named = {route.roles for route in (best.study_hours, best.months, best.moves, *trade_off) if route}
    rest = [c for c in ordered if c.sequence not in named]
    remarks = []
    if len(rest) > OTHER_ROUTES_LIMIT:
        remarks.append(f"{len(rest) - OTHER_ROUTES_LIMIT} further routes are not listed.")
    if costs.profile.study_hours_per_week <= 0:
        remarks.append("No hours a week are free for study: calendar time is given only where nothing is to study.")
    if not shown.is_complete:
        remarks.append("The time limit struck: there may be better routes.")
    return RoutesResult(
        role=role_id,
        status=_get_status(direct, shown),
        lower_bound=None if shown.lower_bound == math.inf else shown.lower_bound / 60,
        best=best,
        trade_off=tuple(trade_off),
        other_routes=tuple(build(c) for c in rest[:OTHER_ROUTES_LIMIT]),
        direct=direct,
        remarks=tuple(remarks),
    )


def _get_status(direct: DirectMove, shown: ShownRoutes) -> RoutesStatus:
    if not shown.is_complete:
        return "feasible"
    if not shown.minutes:
        return "unreachable"
    return "nothing-to-do" if direct.within_reach and direct.study_hours == 0 else "optimal"


def _get_months(costs: RouteCosts, sequence: Sequenced, minutes: int) -> Fraction | float:
    """Return the months of a sequence exactly; infinite where there is no time to study."""
    in_roles = sum(costs.snapshot.roles[r].months_to_full for r in sequence[:-1])
    pace = costs.profile.study_hours_per_week
    if minutes and pace <= 0:
        return math.inf
    return in_roles + (Fraction(minutes, 60) / Fraction(pace) * Fraction(12, 52) if minutes else 0)


def _keep_trade_off(by_hours: Sequence[_Candidate]) -> list[_Candidate]:
    """Return those that no other beats in hours or months without losing in the other; equals stand together.

    `by_hours` is sorted by minutes, then months: O(n).
    """
    kept: list[_Candidate] = []
    for candidate in by_hours:
        is_twin = bool(kept) and (candidate.minutes, candidate.months) == (kept[-1].minutes, kept[-1].months)
        if not kept or is_twin or candidate.months < kept[-1].months:
            kept.append(candidate)
    return kept
