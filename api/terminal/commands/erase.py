"""Take a person out of the store, its past, its history and all that is kept beside it: for good."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.terminal.options import open_graph, store_option
from api.terminal.who import get_who
from ontology.model.tables import TABLES
from ontology.plurals import format_count

if TYPE_CHECKING:
    from api.access.erasing import ErasurePlan

_LOCKED = "Erase through it, as an administrator, at /accounts/erasure; or stop it first."
_SHOWN = 5


@click.command("erase", help=__doc__)
@click.argument("person")
@click.option("--yes", is_flag=True, help="Erase; without it, only what would go is shown.")
@store_option
def run(person: str, yes: bool, store: Path) -> None:
    """Show what would go, or erase it."""
    from api.access.database import Database, find_database
    from api.access.erasing import erase, plan_erasure
    from api.http.load_desk import FOLDER, remove_uploads

    with open_graph(store, if_locked=_LOCKED) as graph:
        database = Database(find_database(store))
        plan = plan_erasure(graph, database, person)
        click.echo(f"{'Erased' if yes else 'Would be erased'}: {_name(plan)}.")
        if yes:
            revision = erase(graph, database, [person], get_who())
            remove_uploads(store / FOLDER)
    for line in _tell(plan):
        click.echo(f"  {line}")
    if yes:
        click.echo(f"The store is at revision {revision}. No step leads back.")
    else:
        click.echo("Nothing was erased. To erase, say --yes: no step leads back.")


def _name(plan: ErasurePlan) -> str:
    return f"{plan.person} ({', '.join(plan.names)})" if plan.names else plan.person


def _tell(plan: ErasurePlan) -> Iterator[str]:
    yield f"records about them: {_count_tables(plan.records) or 'none now'}"
    if plan.named:
        yield f'named in others\' records, where "erased" stands instead: {_count_tables(plan.named)}'
    yield f"the past: their part of {format_count(plan.commits, 'change')}; how many rows each had stays known"
    about = plan.about
    parts = (
        format_count(about.accounts, "account"),
        format_count(about.sessions, "session"),
        format_count(about.tokens, "token"),
        format_count(about.kept, "kept way", "kept ways"),
        format_count(about.looks, "look at them", "looks at them"),
        format_count(about.purposes, "purpose about them", "purposes about them"),
    )
    yield f"beside the store: {', '.join(parts)}"
    yield "files that were sent to be loaded: all of them"
    if plan.spoken:
        shown = ", ".join(f"{name} {key}" for name, key in plan.spoken[:_SHOWN])
        more = f" and {len(plan.spoken) - _SHOWN} more" if len(plan.spoken) > _SHOWN else ""
        yield f"left, since their name is a part of a text there; change these by hand: {shown}{more}"
    for copy in plan.copies:
        day = dt.datetime.fromtimestamp(copy.at, dt.UTC).date()
        yield f"left, a copy for you to delete: {copy.path} (revision {copy.revision}, {day})"
    yield "left, for you to delete: copies and exports that were made or taken elsewhere"


def _count_tables(counts: tuple[tuple[str, int], ...]) -> str:
    told = ((TABLES[name].segment.replace("-", " "), name.replace("_", " "), n) for name, n in counts)
    return ", ".join(format_count(n, one, many) for one, many, n in told)
