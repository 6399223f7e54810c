"""Make the store what a backup holds, without who was erased since; what it held before is replaced in one step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.terminal.options import open_database, store_option
from ontology.store.backups import restore_store

if TYPE_CHECKING:
    from ontology.store.rewriting import Revise


@click.command("restore", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
@store_option
def run(path: Path, store: Path) -> None:
    """Put the backup back."""
    left_out: list[str] = []
    revision = restore_store(path, store, _build_revise(store, left_out))
    click.echo(f"{store} is at revision {revision} again, from {path}.")
    if left_out:
        click.echo(f"Who was erased since stays so: {len(left_out)} left out.")


def _build_revise(store: Path, left_out: list[str]) -> Revise | None:
    """Return what leaves out those who were erased; None where nobody was."""
    database = open_database(store)
    if database is None:
        return None
    from api.access.erasure import Erasure
    from api.terminal.who import get_who
    from ontology.erasure import build_revise

    erasure = Erasure(database)
    is_erased = erasure.build_test(_read_keys(store))

    def leave_out(person: str) -> bool:
        left_out.extend([person] if is_erased(person) else [])
        return is_erased(person)

    return build_revise(leave_out, get_who(), erasure.make_key)


def _read_keys(store: Path) -> frozenset[str]:
    """Return the keys that the store itself tells of: a process may have been killed before the list had them."""
    from ontology.errors import NewelError
    from ontology.store.engine import Store
    from ontology.store.erasures import read_erasures

    try:
        opened = Store.open(store)
    except NewelError:  # none yet, damaged, or in use, which restoring tells
        return frozenset()
    try:
        return read_erasures(opened).keys
    finally:
        opened.close()
