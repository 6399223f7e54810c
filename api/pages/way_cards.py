"""Which ways stand side by side, and why: the best by hours, by months and by moves, the next by hours, the direct one.

At most three, the direct way always last: it is told whether or not it is within reach.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from api.desk.names import Names, join_names
from ontology.analysis.routes.route_results import DirectMove, Route, RoutesResult

__all__ = ["MOST_CARDS", "Chosen", "choose_ways", "list_ways", "name_way"]

MOST_CARDS: Final = 3
_AIMS: Final = {"study_hours": "least hours", "months": "least months", "moves": "fewest moves"}


@dataclass(frozen=True, slots=True)
class Chosen:
    """A way and what it is best in; `is_direct`: one move, told whether or not it is within reach."""

    route: Route | DirectMove
    best_in: tuple[str, ...] = ()
    is_direct: bool = False
    is_kept: bool = field(default=False, compare=False)

    @property
    def key(self) -> str:
        """What names it in an address: the roles on its way."""
        return ".".join(self.route.roles[:-1]) or "directly"


def list_ways(result: RoutesResult) -> tuple[Chosen, ...]:
    """Return every way of an answer once: the best ones, the others by hours, the direct one last."""
    best = {aim: getattr(result.best, aim) for aim in _AIMS}
    found: list[Route] = []
    rest = sorted(
        (*result.trade_off, *result.other_routes), key=lambda route: (route.study_hours, len(route.roles), route.roles)
    )
    for route in (*best.values(), *rest):
        if route is not None and route not in found:
            found.append(route)

    def tell_best(route: Route) -> tuple[str, ...]:
        return tuple(words for aim, words in _AIMS.items() if best[aim] == route)

    ways = [Chosen(route, tell_best(route)) for route in found if len(route.roles) > 1]
    direct = next((tell_best(route) for route in found if len(route.roles) == 1), ())
    return (*ways, Chosen(result.direct, direct, is_direct=True))


def choose_ways(result: RoutesResult, kept: str = "") -> tuple[Chosen, ...]:
    """Return the ways to lay side by side: one that was kept first, where it is still among them."""
    *ways, direct = list_ways(result)
    first = [Chosen(way.route, way.best_in, is_kept=True) for way in ways if way.key == kept]
    others = [way for way in ways if way.key != kept]
    return (*(*first, *others)[: MOST_CARDS - 1], direct)


def name_way(route: Route | DirectMove, names: Names) -> str:
    """Return a way by the roles that it goes through."""
    through = [names.role(role) for role in route.roles[:-1]]
    return f"Through {join_names(through)}" if through else "Directly"
