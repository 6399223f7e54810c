"""newel routes, reachable-roles and similar."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from api import services
from api.commands import tables_of_people
from api.commands.asking import answer, get_subject, with_common_options, with_limits, with_person_and_role
from api.commands.options import Ids, Named, json_option, store_option


@click.command()
@with_person_and_role("--to")
@click.option("--max-moves", type=click.IntRange(1, 10), default=services.DEFAULT_MAX_MOVES, show_default=True)
@with_limits
@click.option("--avoid", type=Ids("roles"), default="", metavar="R1,R2", help="Never move into these roles.")
@click.option("--via", type=Named("roles"), metavar="ROLE", help="Pass through this role.")
@click.option(
    "--study-hours-per-week",
    type=click.FloatRange(min=0, min_open=True),
    help="Hours a week for study (default: the person's own).",
)
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_common_options
def routes(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    max_moves: int,
    preparation_limit: float,
    level_limit: int,
    avoid: frozenset[str],
    via: str | None,
    study_hours_per_week: float | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the ways through other roles to a role, and the direct move beside them."""
    person, role = get_subject(ids, from_role, role_named)
    answer(
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
            avoid=avoid,
            via=via,
            study_hours_per_week=study_hours_per_week,
            on=on,
            time_limit_s=time_limit,
        ),
        tables_of_people.show_routes,
    )


@click.command("reachable-roles")
@click.argument("person", type=Named("people"), required=False)
@click.option("--from", "from_role", type=Named("roles"), metavar="ROLE", help="Start from this role's full profile.")
@with_limits
@with_common_options
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
    answer(
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
@click.argument("role", type=Named("roles"))
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True)
@json_option
@store_option
def similar(role: str, limit: int, as_json: bool, store: Path) -> None:
    """Show the roles that ask for much the same."""
    answer(store, as_json, lambda s: services.get_similar_roles(s, role, limit), tables_of_people.show_similar)


COMMANDS = (
    routes,
    reachable_roles,
    similar,
)
