"""newel gap and learning-path."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from api import services
from api.commands import tables_of_paths, tables_of_people
from api.commands.asking import answer, get_subject, with_common_options, with_person_and_role
from api.commands.options import Ids
from ontology.analysis.paths.aims import AIMS


@click.command()
@with_person_and_role("--role")
@with_common_options
def gap(
    ids: tuple[str, ...], from_role: str | None, role_named: str | None, on: date, as_json: bool, store: Path
) -> None:
    """Show what a person (or a role's profile) holds of what a role asks."""
    person, role = get_subject(ids, from_role, role_named)
    answer(
        store,
        as_json,
        lambda s: services.get_gap(s, role, person_id=person, from_role_id=from_role, on=on),
        tables_of_people.show_gap,
    )


@click.command("learning-path")
@with_person_and_role("--role")
@click.option("--minimise", type=click.Choice(AIMS), default="hours", show_default=True, help="The first aim.")
@click.option("--desirable", is_flag=True, help="Reach the desirable requirements too.")
@click.option("--max-hours", type=click.FloatRange(min=0), help="Budget of study hours.")
@click.option("--max-cost", type=click.FloatRange(min=0), help="Budget of money.")
@click.option("--exclude", type=Ids(), default="", metavar="C1,C2", help="Courses never used.")
@click.option("--already-booked", type=Ids(), default="", metavar="C1,C2", help="Courses taken for granted.")
@click.option("--alternatives", type=click.IntRange(0, 5), help="Further sets of courses; 2 where they are quick.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_common_options
def learning_path(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    minimise: Any,
    desirable: bool,
    max_hours: float | None,
    max_cost: float | None,
    exclude: frozenset[str],
    already_booked: frozenset[str],
    alternatives: int | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the cheapest courses, in order, to the full levels of a role, or what a budget buys of them."""
    person, role = get_subject(ids, from_role, role_named)
    answer(
        store,
        as_json,
        lambda s: services.get_learning_path(
            s,
            role,
            person_id=person,
            from_role_id=from_role,
            on=on,
            minimise=minimise,
            with_desirable=desirable,
            max_hours=max_hours,
            max_cost=max_cost,
            exclude=exclude,
            already_booked=already_booked,
            alternatives=alternatives,
            time_limit_s=time_limit,
        ),
        tables_of_paths.show_learning_path,
    )


COMMANDS = (
    gap,
    learning_path,
)
