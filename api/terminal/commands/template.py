"""Write an empty workbook to fill in: a sheet per table, explained, with drop-downs and checks."""

from __future__ import annotations

from pathlib import Path

import click

from loaders.tables.template import export_template


@click.command("template", help=__doc__)
@click.argument("path", type=click.Path(path_type=Path))
def run(path: Path) -> None:
    """Write the workbook."""
    export_template(path)
    click.echo(f"Wrote {path}; fill it in and load it with: newel load {path}")
