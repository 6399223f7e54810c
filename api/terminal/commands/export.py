"""Write everything to a workbook, a folder of CSV tables, or one file of linked data."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.command_desk import note_look
from api.terminal.options import open_graph, store_option
from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES
from loaders.linked_data.writer import export_linked_data
from loaders.tables.table_writers import export_csv, export_workbook
from ontology.errors import InputError
from ontology.mapping.foreign import count_foreign
from ontology.mapping.retired_marks import iterate_marks
from ontology.rdf.namespaces import DATA_GRAPHS

EXPORT_KINDS = ("workbook", "csv", "linked-data")

#: What to do where another process has the store open.
_LOCKED = "Copy it with newel backup, and export the copy."


@click.command("export", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--as", "kind", type=click.Choice(EXPORT_KINDS), help="What to write (guessed from the name).")
@store_option
def run(path: Path, kind: str | None, store: Path) -> None:
    """Write the files."""
    suffix = path.suffix.lower()
    if kind is None:
        kind = "workbook" if suffix == ".xlsx" else "linked-data" if suffix in LINKED_DATA_SUFFIXES else "csv"
        if kind == "csv" and suffix:
            raise InputError(
                f"{path.name}: write .xlsx, a linked-data suffix ({' '.join(sorted(LINKED_DATA_SUFFIXES))}) or the "
                "name of a folder for CSV tables; or say --as."
            )
    if store.resolve() in (path.resolve(), *path.resolve().parents):
        raise InputError(f"{path} lies in the store itself; name a place elsewhere.", path=str(path))
    with open_graph(store, if_locked=_LOCKED) as graph:
        snapshot = graph.get_snapshot()
        note_look(store, "Export of everything", frozenset(snapshot.people))
        n_left_out = 0 if kind == "linked-data" else count_foreign(graph.store, snapshot)
        if kind == "workbook":
            export_workbook(snapshot, path)
        elif kind == "csv":
            export_csv(snapshot, path)
        else:
            quads = [quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)]
            export_linked_data([*quads, *iterate_marks(snapshot)], path)
        if n_left_out:
            click.echo(f"Left out: {n_left_out:,} triples of others, which no table holds; linked data keep them.")
        click.echo(f"Wrote revision {snapshot.revision} to {path}.")
