"""What is said about a route: its moves, courses, hours and months; and the direct move with what it breaks. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from ontology.analysis.paths.catalogue import Stage, build_staged_problem
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.paths.planner import Placement, solve_staged
from ontology.analysis.paths.unreachable import UnreachableLevel, explain_unreachable
from ontology.analysis.routes.moves import BrokenLimit, find_broken_limits
from ontology.analysis.routes.route_bounds import RouteCosts, Sequenced

__all__ = [
    "BestRoutes",
    "DirectMove",
    "Route",
    "RouteMove",
    "RoutesResult",
    "RoutesStatus",
    "build_direct_move",
    "build_route",
]

RoutesStatus = Literal["optimal", "feasible", "unreachable", "nothing-to-do"]


@dataclass(frozen=True, slots=True)
class RouteMove:
    """One move: the role moved into, the courses before it (in an order one can take), and the time it takes.

    `months` is the preparation and then the time in the role until its full levels; for the last move the
    preparation alone. None where no courses reach the role, or no hours a week are free for study.
    """

    role: Annotated[str, "The role moved into."]
    label: Annotated[str, "Its label."]
    study_hours: Annotated[float | None, "Hours of the courses before it; null where no courses reach it."]
    months: Annotated[float | None, "Preparation and time in the role (0 for the last), at least."]
    courses: Annotated[tuple[str, ...], "The courses before it, in order."]


@dataclass(frozen=True, slots=True)
class Route:
    """A chain of moves; `roles` are those moved into, the target last. `months` is the least calendar time."""

    roles: Annotated[tuple[str, ...], "The roles moved into, the target last."]
    study_hours: Annotated[float, "Hours of all courses."]
    months: Annotated[float | None, "Calendar time, at least."]
    cost: Annotated[float, "Cost of all courses."]
    moves: Annotated[tuple[RouteMove, ...], "The moves, in order."]


@dataclass(frozen=True, slots=True)
class DirectMove:
    """The move straight into the target, whether or not it is within reach.

    `study_hours` and `cost` are None where no courses reach its entry levels; `unreachable` says which and why.
    """

    roles: Annotated[tuple[str, ...], "The target."]
    study_hours: Annotated[float | None, "Hours; null where no courses reach it."]
    months: Annotated[float | None, "Calendar time, at least."]
    cost: Annotated[float | None, "Cost."]
    moves: Annotated[tuple[RouteMove, ...], "The one move."]
    within_reach: Annotated[bool, "Whether it breaks no limit."]
    broken_limits: Annotated[tuple[BrokenLimit, ...], "The limits it breaks."]
    unreachable: Annotated[tuple[UnreachableLevel, ...], "Entry levels that no courses reach, and why."]


@dataclass(frozen=True, slots=True)
class BestRoutes:
    """The best route by each aim; ties by the other two (study hours, months, moves), then by role ids."""

    study_hours: Annotated[Route | None, "Least study hours."]
    months: Annotated[Route | None, "Least months."]
    moves: Annotated[Route | None, "Fewest moves."]


@dataclass(frozen=True, slots=True)
class RoutesResult:
    """The routes to a role.

    `status` "optimal": proved for these entries; "feasible": the time limit struck; "unreachable": no legal route;
    "nothing-to-do": the direct move is within reach and needs no study. `lower_bound` is hours no legal route goes
    below, None where there is none. `trade_off` holds the shown routes that no other beats in hours or months
    without losing in the other, by hours; `other_routes` the next ones by hours, months, moves and ids.
    """

    role: Annotated[str, "The target role."]
    status: Annotated[
        RoutesStatus, "optimal: proved for these entries; feasible: the best found when the time limit struck."
    ]
    lower_bound: Annotated[float | None, "Hours no route is below; null where there is no route."]
    best: Annotated[BestRoutes, "The best route by each aim."]
    trade_off: Annotated[tuple[Route, ...], "Routes no other beats in hours or months without losing in the other."]
    other_routes: Annotated[tuple[Route, ...], "Further routes."]
    direct: Annotated[DirectMove, "The direct move, within reach or not."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


def build_route(costs: RouteCosts, sequence: Sequenced) -> Route:
    """Return a legal sequence with its courses placed: see `RouteCosts.refine` for the choice among equals."""
    placement = costs.refine(sequence)
    moves = _build_moves(costs, sequence, placement)
    return Route(
        roles=sequence,
        study_hours=sum(offer.minutes for offer, _ in placement) / 60,
        months=_add_months(costs, sequence, placement),
        cost=sum(offer.cents for offer, _ in placement) / 100,
        moves=moves,
    )


def _build_moves(costs: RouteCosts, sequence: Sequenced, placement: Placement) -> tuple[RouteMove, ...]:
    moves = []
    for k, role_id in enumerate(sequence):
        offers = [offer for offer, at in placement if at == k]
        minutes = sum(offer.minutes for offer in offers)
        months = compute_months(minutes, costs.profile.study_hours_per_week)
        role = costs.snapshot.roles[role_id]
        if months is not None and k + 1 < len(sequence):
            months += role.months_to_full
        moves.append(RouteMove(role_id, role.label, minutes / 60, months, tuple(offer.id for offer in offers)))
    return tuple(moves)


def _add_months(costs: RouteCosts, sequence: Sequenced, placement: Placement) -> float | None:
    """Return the months of the whole, from its total minutes: adding up the moves would add up their rounding."""
    study = compute_months(sum(offer.minutes for offer, _ in placement), costs.profile.study_hours_per_week)
    if study is None:
        return None
    return study + sum(costs.snapshot.roles[r].months_to_full for r in sequence[:-1])


def build_direct_move(costs: RouteCosts, role_id: str, preparation_limit: float, level_limit: int) -> DirectMove:
    """Return the direct move with the cheapest preparation, whatever the limits, and the limits it breaks."""
    snapshot, levels = costs.snapshot, costs.profile.levels
    open_levels = {i: level for i, level in costs.moves.get_entry_levels(role_id).items() if level > levels.get(i, 0)}
    reached = costs.get_reached(())
    unreachable = tuple(
        explain_unreachable(snapshot, costs.moves.catalogue, reached, i, level)
        for i, level in open_levels.items()
        if level > reached.get(i, 0)
    )
    label = snapshot.roles[role_id].label
    if unreachable:
        return DirectMove(
            roles=(role_id,),
            study_hours=None,
            months=None,
            cost=None,
            moves=(RouteMove(role_id, label, None, None, ()),),
            within_reach=False,
            broken_limits=find_broken_limits(snapshot, levels, role_id, None, preparation_limit, level_limit),
            unreachable=unreachable,
        )
    staged = build_staged_problem(
        costs.moves.catalogue, [Stage(levels, frozenset(open_levels.items()))], aims=("hours", "cost", "courses")
    )
    plan = solve_staged(staged, time_limit_s=costs.deadline.get_remaining_s())
    costs.is_settled &= plan is not None and plan.is_proved
    placement: Placement = plan.order if plan else ()
    minutes = sum(offer.minutes for offer, _ in placement)
    broken = find_broken_limits(snapshot, levels, role_id, minutes, preparation_limit, level_limit)
    return DirectMove(
        roles=(role_id,),
        study_hours=minutes / 60,
        months=_add_months(costs, (role_id,), placement),
        cost=sum(offer.cents for offer, _ in placement) / 100,
        moves=_build_moves(costs, (role_id,), placement),
        within_reach=not broken,
        broken_limits=broken,
        unreachable=(),
    )
