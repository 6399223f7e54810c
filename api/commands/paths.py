"""newel gap and learning-path."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from api import services
from api.commands import tables_of_paths, tables_of_people
from api.commands.asking import answer, get_subject, with_common_options, with_person_and_role
from api.commands.options import with_path_options


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
@with_path_options
@click.option("--alternatives", type=click.IntRange(0, 5), help="Further sets of courses; 2 where they are quick.")
@with_common_options
def learning_path(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    on: date,
    as_json: bool,
    store: Path,
    **wishes: Any,
) -> None:
    """Show the cheapest courses, in order, to the full levels of a role, or what a budget buys of them."""
    person, role = get_subject(ids, from_role, role_named)
    options: services.PathOptions = wishes  # type: ignore[assignment]
    answer(
        store,
        as_json,
        lambda s: services.get_learning_path(s, role, person_id=person, from_role_id=from_role, on=on, **options),
        tables_of_paths.show_learning_path,
    )


COMMANDS = (
    gap,
    learning_path,
)
