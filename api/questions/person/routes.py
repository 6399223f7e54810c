"""The ways through other roles to a role, and the direct move beside them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import RoleId, RoleIds
from api.desk.names import Names, amount, count, join_names
from api.desk.parameters import param
from api.desk.question import PERSON, ROLE, Question, Subject
from api.desk.sheet import Cell, Column, Next, Note, Quantity, Sheet, Table
from api.pictures.pictures import draw_routes
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly, build_start_profile, by_start, name_start
from api.questions._reach import AskWithinReach
from api.questions._words import describe_status, describe_unreachable
from api.questions.person._path import ask_first_plan
from ontology.analysis.routes.moves import BrokenLimit
from ontology.analysis.routes.route_results import DirectMove, Route, RoutesResult
from ontology.analysis.routes.routes import MOST_MOVES, find_routes

_AT_LEAST: Final = (
    "Months are at least: study can wait or overlap, and growing into a role has to be confirmed by assessment."
)

#: Further routes shown below the best ones; the answer as JSON holds more.
_FURTHER: Final = 3


@dataclass(frozen=True, kw_only=True)
class AskRoutes(AskWithinReach, AskOnDay, AskSlowly):
    """To which role, within which limits."""

    to: RoleId = param("The target role.", is_word=True)
    max_moves: int = param("Most moves of a route.", default=MOST_MOVES, minimum=1, maximum=10)
    avoid: RoleIds = param("Roles that no route moves into.", default=frozenset())
    via: RoleId | None = param("A role that every route passes through.", default=None)
    study_hours_per_week: float | None = param(
        "Hours a week for study (default: the person's own); they pace the months.",
        default=None,
        minimum=0.01,
        unit="h",
    )


def show(result: RoutesResult, subject: Subject, asked: AskRoutes, names: Names) -> Sheet:
    """Return the routes side by side, the direct move last, and the first of them move by move."""
    shown = list(_iterate_shown(result))
    further = [route for route in result.other_routes if all(route != other for _, other in shown)]
    rows = [
        *((why, names.refs("roles", route.roles), *_tell_size(route)) for why, route in shown),
        *(("another route", names.refs("roles", route.roles), *_tell_size(route)) for route in further[:_FURTHER]),
        ("direct move", names.ref("roles", result.role), *_tell_size(result.direct)),
    ]
    more = len(further) - _FURTHER
    is_person = subject.kind is PERSON
    day = {"on": str(asked.on)}
    return Sheet(
        title=f"{name_start(names, subject, asked)} → {names.role(result.role)}, {asked.on}",
        lead=_tell(result, names),
        parts=(
            Table(
                "Ways",
                (
                    Column("why shown"),
                    Column("moves into"),
                    Column("study", "h", is_number=True),
                    Column("months", is_number=True),
                    Column("cost", is_number=True),
                ),
                tuple(rows),
                "",
                f"{count(more, 'further route', 'further routes')}: in the answer as JSON." if more > 0 else "",
            ),
            *(Note(text) for text in _tell_limits(result.direct, names)),
            *describe_unreachable(result.direct.unreachable, names),
            *_show_moves(shown, names),
        ),
        next=(
            *_plan_first(shown, subject, day),
            Next("The courses of the direct way", "learning-path", subject.id, {"role": result.role} | day),
            Next("What is missing for the role", "gap", subject.id, {"role": result.role} | day),
        )
        if is_person
        else (),
    )


def _plan_first(shown: list[tuple[str, Route]], subject: Subject, day: dict[str, str]) -> Iterator[Next]:
    for _, route in shown[:1]:
        yield Next("The first plan with dates", "schedule", subject.id, ask_first_plan(route.moves) | day)


def _tell(result: RoutesResult, names: Names) -> str:
    best = result.best.study_hours
    if best is None and result.status == "feasible":
        return "Time was over before a way was found; nothing proves that there is none."
    if best is None:
        return "No way leads there within these limits."
    through = [names.role(role) for role in best.roles[:-1]]
    way = f"through {join_names(through)}" if through else "directly"
    hours = amount(best.study_hours)
    return f"The way with least study goes {way}: {hours} h. {describe_status(result.status)}"


def _iterate_shown(result: RoutesResult) -> Iterator[tuple[str, Route]]:
    """Yield each of the best and of the trade-off once, with all it is best in."""
    best = {"study hours": result.best.study_hours, "months": result.best.months, "moves": result.best.moves}
    seen: list[Route] = []
    for route in (*best.values(), *result.trade_off):
        if route is None or route in seen:
            continue
        seen.append(route)
        reasons = [f"least {aim}" for aim, other in best.items() if other == route]
        yield ", ".join(reasons) or "trade-off", route


def _tell_size(route: Route | DirectMove) -> tuple[Cell, ...]:
    return Quantity(route.study_hours), Quantity(route.months), Quantity(route.cost)


def _tell_limits(direct: DirectMove, names: Names) -> Iterator[str]:
    for limit in direct.broken_limits:
        yield f"The direct move is out of reach: {_tell_limit(limit, names)}."


def _tell_limit(limit: BrokenLimit, names: Names) -> str:
    needed, allowed = amount(limit.needed), amount(limit.allowed)
    if limit.limit == "preparation":
        return f"{needed} h of study before the move, at most {allowed}"
    return f"{names.competency(limit.competency or '')} is {needed} levels above, at most {allowed}"


def _show_moves(shown: list[tuple[str, Route]], names: Names) -> tuple[Table, ...]:
    if not shown:
        return ()
    return (
        build_table(
            "The first of these, move by move",
            shown[0][1].moves,
            (
                words("into", lambda move: names.ref("roles", move.role)),
                number("study", lambda move: move.study_hours, "h"),
                number("months", lambda move: move.months),
                words("courses before it", lambda move: names.refs("courses", move.courses)),
            ),
        ),
    )


QUESTION = Question(
    asks={PERSON: AskRoutes, ROLE: AskRoutes},
    answers=RoutesResult,
    compute=by_start(find_routes, to="role_id"),
    cautions=(cautions.OFFER, _AT_LEAST, cautions.ENTRIES, cautions.NO_SELECTION_TEST),
    needs=Kind.EXPLORATION,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    draw=lambda snapshot, subject, asked, result, **layout: draw_routes(
        snapshot, build_start_profile(snapshot, subject, asked.on), result, **layout
    ),
)
