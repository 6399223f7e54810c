"""Upskilling routes in words: what each is called, its totals, moves and broken limits. Imports start, style, text.

The best by hours, months and moves come first and are named so; then the trade-off between hours and months, further
routes, and the direct move with the limits it breaks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.text import TIE, format_count, format_number
from ontology.analysis.routes.moves import BrokenLimit
from ontology.analysis.routes.routes import DirectMove, Route, RouteMove, RoutesResult
from ontology.graph.snapshot import Snapshot

CAUTION: Final = (
    "An offer, not a promise of a post. Months are the least: study can wait. What is learned in a role is expected, "
    "to be confirmed by assessment."
)

_BEST: Final = style.Mark("best by one of the three aims", style.BLUE, width=2.2)
_TRADE_OFF: Final = style.Mark("trade-off between hours and months", style.SKY_BLUE, width=1.8)
_FURTHER: Final = style.Mark("further route", style.LINE, width=1)
BEYOND: Final = style.Mark("direct move, beyond the limits", style.VERMILLION, pen="dashed", width=1.6)
#: The foremost first.
MARKS: Final = (_BEST, _TRADE_OFF, _FURTHER, BEYOND)


@dataclass(frozen=True, slots=True)
class NamedRoute:
    """One route, what it is called, how its lines look, and what is said besides."""

    name: str
    mark: style.Mark
    route: Route | DirectMove
    notes: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """The name with a capital letter."""
        return self.name[0].upper() + self.name[1:]

    @property
    def words(self) -> str:
        """The name with the totals."""
        return f"{self.title}: {format_totals(self.route)}"


def iterate_routes(snapshot: Snapshot, result: RoutesResult) -> Iterator[NamedRoute]:
    """Yield every route of an answer once, named, the direct move beyond the limits last."""
    best = (
        ("least study hours", result.best.study_hours),
        ("least months", result.best.months),
        ("fewest moves", result.best.moves),
    )
    seen: set[tuple[str, ...]] = set()
    for _, route in best:
        if route is not None and route.roles not in seen:
            seen.add(route.roles)
            names = [name for name, other in best if other is not None and other.roles == route.roles]
            yield NamedRoute(_join(names), _BEST, route)
    for routes, name, mark in (
        (result.trade_off, "between hours and months", _TRADE_OFF),
        (result.other_routes, "further route", _FURTHER),
    ):
        for route in routes:
            if route.roles not in seen:
                seen.add(route.roles)
                yield NamedRoute(name, mark, route)
    if result.direct.roles not in seen:
        direct = result.direct
        notes = [_format_broken_limit(snapshot, limit) for limit in direct.broken_limits]
        notes += [f"{_label(snapshot, row.competency)} {row.level}: {row.reason}" for row in direct.unreachable]
        yield NamedRoute("direct move, not within reach", BEYOND, direct, tuple(notes))


def _join(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _label(snapshot: Snapshot, competency_id: str) -> str:
    return snapshot.competencies[competency_id].label


def _format_broken_limit(snapshot: Snapshot, limit: BrokenLimit) -> str:
    needed, allowed = format_number(limit.needed), format_number(limit.allowed)
    if limit.competency is None:
        return f"preparation {needed}{TIE}h, the limit is {allowed}{TIE}h"
    return f"{_label(snapshot, limit.competency)}: {needed} levels up, the limit is{TIE}{allowed}"


def format_totals(route: Route | DirectMove) -> str:
    """Return a route's totals in words: study hours, months ("at least"), moves."""
    hours = "no courses reach it" if route.study_hours is None else f"{format_number(route.study_hours)}{TIE}h"
    months = "" if route.months is None else f", at least {format_months(route.months)}"
    return f"{hours}{months}, {format_count(len(route.moves), 'move').replace(' ', TIE)}"


def format_months(months: float) -> str:
    """Return months with their word."""
    return f"{format_number(months)}{TIE}{'month' if format_number(months) == '1' else 'months'}"


def format_move(move: RouteMove) -> list[str]:
    """Return a move's hours, and its months where they are known."""
    hours = "no courses known" if move.study_hours is None else f"{format_number(move.study_hours)} h"
    return [hours] if move.months is None else [hours, format_months(move.months)]


def describe_move(snapshot: Snapshot, move: RouteMove) -> str:
    """Return a move in a sentence, with its courses."""
    words = f"Move into {move.label}: {'; '.join(format_move(move))}"
    if move.courses:
        words += f". Courses: {', '.join(snapshot.courses[i].label for i in move.courses)}"
    return words


def build_subtitle(result: RoutesResult, routes: Sequence[NamedRoute], left_out: int) -> str:
    """Return what the picture shows, in a sentence or two."""
    count = sum(route.mark is not BEYOND for route in routes)
    if not count:
        return "No route within the limits leads there."
    words = f"{format_count(count, 'route')} within the limits"
    words += {
        "optimal": ", the best ones proved for these entries",
        "feasible": ", the best found in the time given",
        "nothing-to-do": ": no study is needed",
    }.get(result.status, "")
    if result.status == "feasible" and result.lower_bound is not None:
        words += f" (at least {format_number(result.lower_bound)} h)"
    return f"{words}." + (f" Not drawn: {left_out} further ones." if left_out else "")


def build_description(
    snapshot: Snapshot, result: RoutesResult, routes: Sequence[NamedRoute], shown: Sequence[NamedRoute]
) -> str:
    """Return the picture in words: every route shown, move by move."""
    sentences = [build_subtitle(result, routes, len(routes) - len(shown))]
    for named in shown:
        moves = [f"into {move.label} ({', '.join(format_move(move))})" for move in named.route.moves]
        sentences.append(f"{named.words}: {', then '.join(moves)}{''.join(f'; {note}' for note in named.notes)}.")
    return " ".join(sentences)
