"""What is said of ways: the first sentence, how sure it is, why each is shown, what stands in the way of one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from api.desk.names import Names, amount, count, join_names
from api.pages.way_cards import Chosen
from ontology.analysis.routes.moves import BrokenLimit
from ontology.analysis.routes.route_results import DirectMove, Route, RoutesResult

__all__ = ["tell_broken", "tell_lead", "tell_limits", "tell_months", "tell_proof", "tell_reason"]

_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def tell_months(months: float | None) -> str:
    """Return months as a page says them: one decimal; a dash where no hours a week are free."""
    return "–" if months is None else f"{months:,.1f}"


def tell_lead(result: RoutesResult, names: Names) -> str:
    best, direct = result.best.study_hours, result.direct
    target = names.role(result.role)
    if result.status == "nothing-to-do":
        return f"The first day as {target} asks nothing that is not held already."
    if best is None and result.status == "feasible":
        return "Time was over before a way was found; nothing proves that there is none."
    if best is None:
        return "No way leads there within these limits."
    way = f"Through {join_names(names.role(role) for role in best.roles[:-1])} it" if len(best.roles) > 1 else ""
    takes = f"takes {amount(best.study_hours)} hours of study" + _tell_at_least(best.months)
    if not way:
        return f"Going directly {takes}; no other way takes fewer hours."
    return f"{way} {takes}. {_tell_direct(direct, names)}"


def _tell_at_least(months: float | None) -> str:
    return "" if months is None else f" and at least {tell_months(months)} months"


def _tell_direct(direct: DirectMove, names: Names) -> str:
    if direct.study_hours is None:
        return "No courses lead there directly."
    hours = f"Going directly takes {amount(direct.study_hours)} hours before the first day"
    over = next((limit for limit in direct.broken_limits if limit.limit == "preparation"), None)
    if over is not None:
        return f"{hours}, and {amount(over.allowed)} is the limit."
    if direct.broken_limits:
        return f"{hours} and is out of reach: {tell_broken(direct, names)}."
    return f"{hours}."


def tell_proof(result: RoutesResult) -> str:
    if result.best.study_hours is None:
        return ""
    if result.status == "feasible":
        bound = "" if result.lower_bound is None else f", at least {amount(result.lower_bound)} h"
        return f"Best found in the time allowed{bound}."
    return "Proved: nothing cheaper among these courses."


def tell_reason(result: RoutesResult, way: Chosen, first: Chosen, names: Names) -> tuple[str, str]:
    """Return why a way is shown: what stands out of it, and the rest."""
    direct = result.direct
    best = ", ".join(way.best_in)
    strong = f"{best[:1].upper()}{best[1:]}." if best else ""
    if way.is_direct:
        if not direct.within_reach:
            broken = tell_broken(direct, names) or "no courses lead there"
            return "Out of reach:", f"{broken}."
        return strong, "One move, within reach."
    if way.is_kept:
        strong = f"The way that was kept. {strong}".strip()
    if way == first:
        return strong, "Each move is within reach."
    return strong, _compare(way.route, first.route)


def _compare(route: Route | DirectMove, best: Route | DirectMove) -> str:
    """Return how much more, or less, a way takes than the first one."""
    if route.study_hours is None or best.study_hours is None:
        return ""
    told = [_tell_more(route.study_hours - best.study_hours, "h", "more", "less", amount)]
    if route.months is not None and best.months is not None:
        told.append(_tell_more(route.months - best.months, "months", "longer", "shorter", tell_months))
    line = " and ".join(told)
    move, other = route.moves[0].study_hours, best.moves[0].study_hours
    if move is not None and other is not None and move < other:
        line += f", but the first move needs only {amount(move)} h"
    return f"{line}."


def _tell_more(difference: float, unit: str, more: str, less: str, tell: Callable[[float], str]) -> str:
    size = tell(abs(round(difference, 1)))
    return f"{size} {unit} {more if difference >= 0 else less}"


def tell_broken(direct: DirectMove, names: Names) -> str:
    """Return what stands in the way of a direct move, in words; empty where nothing does."""
    return tell_limits(direct.broken_limits, names)


def tell_limits(limits: tuple[BrokenLimit, ...], names: Names) -> str:
    """Return limits that a move breaks, in words."""
    return "; ".join(_iterate_broken(limits, names))


def _iterate_broken(limits: tuple[BrokenLimit, ...], names: Names) -> Iterator[str]:
    levels = [limit for limit in limits if limit.limit == "level"]
    for limit in limits:
        if limit.limit == "preparation":
            yield f"{amount(limit.needed)} h before the move, at most {amount(limit.allowed)}"
    for up in sorted({limit.needed for limit in levels}, reverse=True):
        those = [limit for limit in levels if limit.needed == up]
        what = names.competency(those[0].competency or "")
        if len(those) > 1:
            number = _NUMBERS[len(those)] if len(those) < len(_NUMBERS) else str(len(those))
            what = f"{number} competencies"
        yield f"{what} {'is' if len(those) == 1 else 'are'} {count(int(up), 'level')} up, at most {those[0].allowed:g}"
