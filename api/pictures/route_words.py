"""Upskilling routes in words: which are shown and what each is called, its totals, moves and broken limits.

The best by hours, months and moves come first and are named so, then the direct move with the limits it breaks, then at
most three others: trade-offs first, and of routes through the same roles only the first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from api.pictures import style
from api.pictures.names import Names
from api.pictures.text import TIE, format_count, format_number, get_name
from ontology.analysis.routes.routes import DirectMove, Route, RouteMove, RoutesResult
from ontology.snapshot.snapshot import Snapshot

_MOST_OTHERS: Final = 3


@dataclass(frozen=True, slots=True)
class Lane:
    """One route that is drawn: what it is called, its colour and line, and what is said besides."""

    name: str
    route: Route | DirectMove
    colour: str
    width: float
    is_dashed: bool = False
    notes: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


def list_lanes(snapshot: Snapshot, result: RoutesResult) -> tuple[list[Lane], list[Route]]:
    """Return the routes that are drawn, in order, and the further ones."""
    best = result.best
    aims = {"least study hours": best.study_hours, "least months": best.months, "fewest moves": best.moves}
    names: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
    routes: dict[tuple[str, ...], Route] = {}
    for name, route in aims.items():
        if route is not None:
            names[route.roles].append(name)
            routes.setdefault(route.roles, route)
    lanes = [Lane(", ".join(names[roles]).capitalize(), route, style.BLUE, 2.6) for roles, route in routes.items()]
    if result.direct.roles not in routes:
        lanes.append(_build_direct(Names(snapshot), result.direct))
    seen = {lane.route.roles for lane in lanes}
    passed = {frozenset(roles) for roles in seen}
    further: list[Route] = []
    others = 0
    for route in dict.fromkeys(chain(result.trade_off, result.other_routes)):
        if route.roles in seen:
            continue
        seen.add(route.roles)
        if others < _MOST_OTHERS and frozenset(route.roles) not in passed:
            is_trade_off = route in result.trade_off
            name = "Between hours and months" if is_trade_off else "Another way"
            lanes.append(Lane(name, route, style.SKY_BLUE if is_trade_off else style.LINE, 1.2))
            passed.add(frozenset(route.roles))
            others += 1
        else:
            further.append(route)
    return lanes, further


def _build_direct(names: Names, direct: DirectMove) -> Lane:
    if direct.within_reach:
        return Lane("Direct move", direct, style.LINE, 1.2)
    notes = []
    levels: defaultdict[tuple[float, float], list[str]] = defaultdict(list)
    for limit in direct.broken_limits:
        if limit.competency is None:
            notes.append(f"{format_number(limit.needed)} h before the move, limit {format_number(limit.allowed)}")
        else:
            levels[limit.needed, limit.allowed].append(names.competency(limit.competency))
    for (needed, allowed), raised in sorted(levels.items(), reverse=True):
        notes.append(f"{format_count(int(needed), 'level')} up, limit {format_number(allowed)}: {', '.join(raised)}")
    lost = [f"{names.competency(row.competency)}{TIE}{row.level}" for row in direct.unreachable]
    notes += [f"no course leads to {', '.join(lost)}"] if lost else []
    reasons = tuple(
        f"{names.competency(row.competency)} {row.level}: {row.reason.rstrip('.')}" for row in direct.unreachable
    )
    return Lane("Direct move: out of reach", direct, style.VERMILLION, 1.6, True, tuple(notes), reasons)


def format_totals(route: Route | DirectMove) -> str:
    """Return a route's study hours and months ("at least")."""
    hours = "no courses reach it" if route.study_hours is None else f"{format_number(route.study_hours)}{TIE}h"
    return hours if route.months is None else f"{hours}, at least {format_months(route.months)}"


def format_months(months: float) -> str:
    """Return months with their word."""
    return f"{format_number(months)}{TIE}{'month' if format_number(months) == '1' else 'months'}"


def format_hours(move: RouteMove) -> str:
    """Return the study hours before a move."""
    return "no courses known" if move.study_hours is None else f"{format_number(move.study_hours)}{TIE}h"


def list_stays(snapshot: Snapshot, route: Route | DirectMove) -> list[str]:
    """Return for each role on the way, the target apart, from when and how long it is held."""
    told = []
    start: float | None = 0.0
    for move in route.moves[:-1]:
        role = snapshot.roles[move.role]
        length = format_months(role.months_to_full)
        # a move's months are those of study before it, then those in the role
        begun = None if start is None or move.months is None else start + move.months - role.months_to_full
        told.append(f"{length} there" if begun is None else f"from month {round(begun)}, {length}")
        start = None if start is None or move.months is None else start + move.months
    return told


def tell_move(names: Names, move: RouteMove) -> str:
    """Return a move in a sentence, with its courses."""
    told = f"Into {get_name(move.label, move.role)}: {format_hours(move)}"
    return f"{told}: {names.join('courses', move.courses)}" if move.courses else told


def tell_route(names: Names, name: str, route: Route | DirectMove) -> str:
    """Return a route in words, move by move."""
    stays = [*(f" ({stay})" for stay in list_stays(names.snapshot, route)), ""]
    moves = [
        f"{format_hours(move)} to {get_name(move.label, move.role)}{stay}"
        for move, stay in zip(route.moves, stays, strict=True)
    ]
    return f"{name}: {format_totals(route)}: {', then '.join(moves)}"


def tell_lane(names: Names, lane: Lane) -> str:
    """Return a lane in words: its route, and what is said besides."""
    return "; ".join([tell_route(names, lane.name, lane.route), *lane.notes, *lane.reasons])


def tell_routes(names: Names, result: RoutesResult) -> str:
    """Return the answer in a sentence."""
    best = result.best.study_hours
    if best is None:
        return "No route within the limits leads there."
    if result.status == "nothing-to-do":
        return "No study is needed: the direct move is within reach."
    roles = names.join("roles", best.roles[:-1])
    told = f"Least study: {format_number(best.study_hours)} h"
    told += "" if best.months is None else f" and at least {format_months(best.months)}"
    told += f" by {roles}" if roles else " by the direct move"
    if result.status == "feasible":
        bound = result.lower_bound
        told += ", the best found in the time given"
        told += "" if bound is None else f"; no route takes less than {format_number(bound)} h"
    return f"{told}."


def describe_routes(
    names: Names, result: RoutesResult, lanes: Sequence[Lane], further: Sequence[Route], *, is_whole: bool
) -> str:
    """Return the picture in words: every route drawn, move by move, and the further ones."""
    sentences = [tell_routes(names, result), *(f"{tell_lane(names, lane)}." for lane in lanes)]
    if is_whole:
        sentences += [f"{tell_route(names, 'Further route', route)}." for route in further]
    elif further:
        sentences.append(f"Not drawn here: {format_count(len(further), 'further route')}.")
    return " ".join([*sentences, *result.remarks])
