"""Make the store what a backup holds; what the store held before is replaced in one step."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.options import store_option
from ontology.store.backups import restore_store


@click.command("restore", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
@store_option
def run(path: Path, store: Path) -> None:
    """Put the backup back."""
    revision = restore_store(path, store)
    click.echo(f"{store} is at revision {revision} again, from {path}.")
