"""Write rows of the tables to a workbook to edit, for a draft.

Framework, offers and teams, never tables about people. Edit cells, add rows, write yes under remove; then newel load
PATH --draft ID puts what was edited into the draft, and nothing else. --dry-run shows it first.
"""

from __future__ import annotations

from pathlib import Path

import click

from api.desk.parameters import list_parameters
from api.desk.slices import AskSlice, export_slice
from api.terminal.options import open_graph, store_option
from loaders.slices import SliceFilter
from ontology.errors import InputError
from ontology.plurals import format_count

#: What to do where another process has the store open.
_LOCKED = "Take the slice from the server: /api/slices."


@click.command("slice", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path), metavar="PATH.xlsx")
@store_option
def run(path: Path, store: Path, **texts: str) -> None:
    """Write the workbook."""
    if path.suffix.lower() != ".xlsx":
        raise InputError(f"{path.name}: a workbook's name ends in .xlsx.", path=str(path))
    asked = SliceFilter.parse(texts)
    with open_graph(store, if_locked=_LOCKED) as graph:
        snapshot = graph.get_snapshot()
        n_rows = export_slice(snapshot, asked, path)
    click.echo(f"Wrote {format_count(n_rows, 'row')} of revision {snapshot.revision} to {path}.")


for _parameter in list_parameters(AskSlice):
    run = click.option(f"--{_parameter.name}", default="", metavar="TEXT", help=_parameter.about)(run)
