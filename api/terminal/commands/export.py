"""Write everything to a workbook, a folder of CSV tables, or one file of linked data."""

from __future__ import annotations

from pathlib import Path

import click

from api.desk.exports import STANDARDS, build_export, dump_package, tell_left_out
from api.terminal.command_desk import note_look
from api.terminal.options import get_settings, open_graph, store_option
from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES
from loaders.linked_data.writer import export_linked_data
from loaders.tables.table_writers import export_csv, export_workbook
from loaders.tables.targets import write_beside
from ontology.errors import InputError
from ontology.live.live_graph import LiveGraph
from ontology.mapping.foreign import count_foreign
from ontology.mapping.retired_marks import iterate_marks
from ontology.rdf.namespaces import DATA_GRAPHS
from ontology.snapshot.snapshot import Snapshot

EXPORT_KINDS = ("workbook", "csv", "linked-data", *STANDARDS)


#: Where a server of this machine is reached by default, for addresses in the description of the dataset.
_OWN_ADDRESS = "http://127.0.0.1:8000/"
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
        if kind in STANDARDS:
            _export_standard(graph, snapshot, kind, path)
            return
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


def _export_standard(graph: LiveGraph, snapshot: Snapshot, kind: str, path: Path) -> None:
    """Write the framework in the terms of an open standard: no team and no person is in it."""
    public = get_settings({}).public_url
    exported = build_export(graph, snapshot, kind, f"{public}/" if public else _OWN_ADDRESS)
    if exported.package is None:
        export_linked_data(exported.quads, path, with_standard_types=False)
    else:
        with write_beside(path) as temporary:
            temporary.write_bytes(dump_package(exported.package))
    left_out = tell_left_out(exported.left_out)
    if left_out:
        click.echo(left_out)
    click.echo(f"Wrote the framework of revision {snapshot.revision} to {path}.")
