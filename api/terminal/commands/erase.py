"""Take a person out of the store, its past, its history and all that is kept beside it: for good."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.options import get_settings, open_graph, store_option
from api.terminal.who import get_who

_LOCKED = "Erase through it, as an administrator, at /accounts/erasure; or stop it first."


@click.command("erase", help=__doc__)
@click.argument("person")
@click.option("--yes", is_flag=True, help="Erase; without it, only what would go is shown.")
@store_option
def run(person: str, yes: bool, store: Path) -> None:
    """Show what would go, or erase it."""
    from api.access.accounts import Accounts
    from api.access.database import Database, find_database
    from api.access.erasing import erase, plan_erasure
    from api.access.passwords import Passwords
    from api.http.load_desk import FOLDER, remove_uploads
    from api.pages.erasure import list_gone, list_left, name_person
    from ontology.errors import ConflictError

    with open_graph(store, if_locked=_LOCKED) as graph:
        database = Database(find_database(store))
        if yes and get_settings({}).erasure_confirmers and Accounts(database, Passwords()).has_administrator():
            raise ConflictError("As it is set, somebody else has to confirm it: serve the store, /accounts/erasure.")
        plan = plan_erasure(graph, database, person)
        click.echo(f"{'Erased' if yes else 'Would be erased'}: {name_person(plan)}.")
        if yes:
            revision = erase(graph, database, [person], get_who())
            remove_uploads(store / FOLDER)
    for what, much in list_gone(plan):
        click.echo(f"  {what}: {much}")
    click.echo("What stays:")
    for sentence in list_left(plan):
        click.echo(f"  {sentence}")
    if yes:
        click.echo(f"The store is at revision {revision}. No step leads back.")
    else:
        click.echo("Nothing was erased. To erase, say --yes: no step leads back.")
