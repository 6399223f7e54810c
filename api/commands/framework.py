"""newel reach-gains and framework-review."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from api import services
from api.commands import tables_of_framework
from api.commands.asking import answer, with_common_options, with_limits
from api.commands.options import Named


@click.command("reach-gains")
@click.argument("person", type=Named("people"), required=False)
@click.option("--from", "from_role", type=Named("roles"), metavar="ROLE", help="Start from this role's full profile.")
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True, help="Most rows of each table.")
@with_limits
@with_common_options
def reach_gains(
    person: str | None,
    from_role: str | None,
    limit: int,
    preparation_limit: float,
    level_limit: int,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the courses and levels that bring most roles within reach."""
    answer(
        store,
        as_json,
        lambda s: services.get_reach_gains(
            s,
            person_id=person,
            from_role_id=from_role,
            preparation_limit=preparation_limit,
            level_limit=level_limit,
            limit=limit,
            on=on,
        ),
        tables_of_framework.show_reach_gains,
    )


@click.command("framework-review")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_limits
@with_common_options
def framework_review(
    time_limit: float | None, preparation_limit: float, level_limit: int, on: date, as_json: bool, store: Path
) -> None:
    """Show what stands out in the framework: roles nobody reaches, untaught levels, unused courses and the rest."""
    answer(
        store,
        as_json,
        lambda s: services.get_framework_review(
            s, preparation_limit=preparation_limit, level_limit=level_limit, on=on, time_limit_s=time_limit
        ),
        tables_of_framework.show_framework_review,
    )


COMMANDS = (reach_gains, framework_review)
