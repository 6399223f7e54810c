"""Copy the store into a new folder, which is a store itself; one that is being served copies itself."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.options import store_option
from ontology.store.backups import backup_store


@click.command("backup", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
@store_option
def run(path: Path, store: Path) -> None:
    """Copy the store."""
    revision = backup_store(store, path)
    click.echo(f"Wrote revision {revision} of {store} to {path}.")
