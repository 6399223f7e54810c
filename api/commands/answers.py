"""newel gap, learning-path, routes, reachable-roles, similar, coverage, staffing, cross-training and the rest.

Each opens the store, calls the service the API calls, and prints the answer as a table or as JSON.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click

from api import services
from api.answers import to_json
from api.commands import tables_of_people, tables_of_teams
from api.commands.options import Ids, json_option, on_option, open_graph, store_option
from ontology.graph.snapshot import Snapshot

_F = TypeVar("_F", bound=Callable[..., Any])
Show = Callable[[Snapshot, dict[str, Any]], None]


def _answer(store: Path, as_json: bool, ask: Callable[[Snapshot], dict[str, Any]], show: Show) -> None:
    with open_graph(store) as graph:
        snapshot = graph.get_snapshot()
        answer = ask(snapshot)
    if as_json:
        click.echo(json.dumps(to_json(answer), ensure_ascii=False, indent=2))
    else:
        show(snapshot, answer)


def _common(command: _F) -> _F:
    return store_option(json_option(on_option(command)))


def _person_and_role(role_option: str) -> Callable[[_F], _F]:
    """Add PERSON or --from, and the role asked about as a second argument or an option."""

    def decorate(command: _F) -> _F:
        command = click.option(role_option, "role_named", metavar="ROLE", help="The role asked about.")(command)
        command = click.option("--from", "from_role", metavar="ROLE", help="Start from this role's full profile.")(
            command
        )
        command = click.argument("ids", nargs=-1, metavar="[PERSON] [ROLE]")(command)
        return command

    return decorate


def _get_subject(ids: tuple[str, ...], from_role: str | None, role_named: str | None) -> tuple[str | None, str]:
    """Return (person or None, role) from the words of the call."""
    rest = list(ids)
    person = rest.pop(0) if rest and from_role is None else None
    role = role_named if role_named is not None else (rest.pop(0) if rest else None)
    if rest:
        raise click.UsageError(f"One word too many: {rest[0]!r}.")
    if person is None and from_role is None:
        raise click.UsageError("Name a person, or --from a role.")
    if role is None:
        raise click.UsageError("Name the role.")
    return person, role


@click.command()
@_person_and_role("--role")
@_common
def gap(
    ids: tuple[str, ...], from_role: str | None, role_named: str | None, on: date, as_json: bool, store: Path
) -> None:
    """Show what a person (or a role's profile) holds of what a role asks."""
    person, role = _get_subject(ids, from_role, role_named)
    _answer(
        store,
        as_json,
        lambda s: services.get_gap(s, role, person_id=person, from_role_id=from_role, on=on),
        tables_of_people.show_gap,
    )


@click.command("learning-path")
@_person_and_role("--role")
@click.option(
    "--minimise", type=click.Choice(["hours", "cost", "courses"]), default="hours", show_default=True, help="Aim."
)
@click.option("--desirable", is_flag=True, help="Reach the desirable requirements too.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@_common
def learning_path(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    minimise: Any,
    desirable: bool,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the cheapest courses, in order, to the full levels of a role."""
    person, role = _get_subject(ids, from_role, role_named)
    _answer(
        store,
        as_json,
        lambda s: services.get_learning_path(
            s,
            role,
            person_id=person,
            from_role_id=from_role,
            minimise=minimise,
            with_desirable=desirable,
            on=on,
            time_limit_s=time_limit,
        ),
        tables_of_people.show_learning_path,
    )


def _limits(command: _F) -> _F:
    command = click.option(
        "--level-limit", type=click.IntRange(min=0), default=services.DEFAULT_LEVEL_LIMIT, show_default=True
    )(command)
    return click.option(
        "--preparation-limit",
        type=click.FloatRange(min=0),
        default=services.DEFAULT_PREPARATION_LIMIT,
        show_default=True,
        help="Study hours before one move.",
    )(command)


@click.command()
@_person_and_role("--to")
@click.option("--max-moves", type=click.IntRange(1, 10), default=services.DEFAULT_MAX_MOVES, show_default=True)
@_limits
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@_common
def routes(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    max_moves: int,
    preparation_limit: float,
    level_limit: int,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the ways through other roles to a role, and the direct move beside them."""
    person, role = _get_subject(ids, from_role, role_named)
    _answer(
        store,
        as_json,
        lambda s: services.get_routes(
            s,
            role,
            person_id=person,
            from_role_id=from_role,
            max_moves=max_moves,
            preparation_limit=preparation_limit,
            level_limit=level_limit,
            on=on,
            time_limit_s=time_limit,
        ),
        tables_of_people.show_routes,
    )


@click.command("reachable-roles")
@click.argument("person", required=False)
@click.option("--from", "from_role", metavar="ROLE", help="Start from this role's full profile.")
@_limits
@_common
def reachable_roles(
    person: str | None,
    from_role: str | None,
    preparation_limit: float,
    level_limit: int,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the roles one move away."""
    _answer(
        store,
        as_json,
        lambda s: services.get_reachable_roles(
            s,
            person_id=person,
            from_role_id=from_role,
            preparation_limit=preparation_limit,
            level_limit=level_limit,
            on=on,
        ),
        tables_of_people.show_reachable_roles,
    )


@click.command()
@click.argument("role")
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True)
@json_option
@store_option
def similar(role: str, limit: int, as_json: bool, store: Path) -> None:
    """Show the roles that ask for much the same."""
    _answer(store, as_json, lambda s: services.get_similar_roles(s, role, limit), tables_of_people.show_similar)


def _team(command: _F) -> _F:
    command = click.option("--away", type=Ids(), default="", metavar="P1,P2", help="Suppose these people are away.")(
        command
    )
    return _common(click.argument("team")(command))


@click.command()
@_team
def coverage(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show how many can do what the team must be able to do."""
    _answer(store, as_json, lambda s: services.get_coverage(s, team, on=on, away=away), tables_of_teams.show_coverage)


@click.command("single-points-of-failure")
@_team
def single_points(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show on whom alone something rests."""
    _answer(
        store,
        as_json,
        lambda s: services.get_single_points_of_failure(s, team, on=on, away=away),
        tables_of_teams.show_single_points,
    )


@click.command()
@_team
def staffing(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show who can fill the team's places at once, and how many absences it survives."""
    _answer(store, as_json, lambda s: services.get_staffing(s, team, on=on, away=away), tables_of_teams.show_staffing)


@click.command("cross-training")
@click.option("--hours-limit", type=click.FloatRange(min=0), help="Hours a person may study.")
@click.option("--tolerance", type=click.IntRange(min=0), help="Absences the team must survive.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@_team
def cross_training(
    team: str,
    away: frozenset[str],
    hours_limit: float | None,
    tolerance: int | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Plan who should learn what so that every need reaches its target."""
    _answer(
        store,
        as_json,
        lambda s: services.get_cross_training(
            s, team, on=on, away=away, hours_limit=hours_limit, tolerance=tolerance, time_limit_s=time_limit
        ),
        tables_of_teams.show_cross_training,
    )


COMMANDS = (
    gap,
    learning_path,
    routes,
    reachable_roles,
    similar,
    coverage,
    single_points,
    staffing,
    cross_training,
)
