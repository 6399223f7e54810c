"""Copy the store into a new folder, which is a store itself; one that is being served copies itself."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.options import find_beside, store_option
from ontology.errors import FileFormatError
from ontology.store.backups import backup_store


@click.command("backup", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--with-accounts", is_flag=True, help="Also accounts, rights, looks and kept ways, beside the copy.")
@store_option
def run(path: Path, with_accounts: bool, store: Path) -> None:
    """Copy the store, and what is kept beside it."""
    beside = Path(f"{store}-access")
    if with_accounts and find_beside(path).exists():
        raise FileFormatError(f"{find_beside(path)} exists already; a backup needs a new folder.", path=str(path))
    revision = backup_store(store, path)
    click.echo(f"Wrote revision {revision} of {store} to {path}.")
    if not find_beside(store).exists():
        if with_accounts:
            click.echo(f"There are no accounts: {beside} is not there.")
        return
    from api.access.database import Database
    from api.access.erasure import Erasure

    database = Database(find_beside(store))
    # whoever erases a person is told of every copy
    Erasure(database).note_copy(str(path.absolute()), revision)
    if with_accounts:
        database.copy_to(find_beside(path))
        click.echo(f"Wrote the accounts to {find_beside(path).parent}.")
