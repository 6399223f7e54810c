"""Serve the demonstration scenario from a temporary store, on this machine only."""

from __future__ import annotations

import tempfile
from pathlib import Path

import click

from api.terminal.options import get_settings, open_graph

SCENARIO = Path(__file__).resolve().parents[3] / "data" / "water_utility"


@click.command("demo", help=__doc__)
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--where", "is_where", is_flag=True, help="Print the folder of the scenario's tables and stop.")
def run(port: int, is_where: bool) -> None:
    """Load the scenario and serve it until stopped, or say where its tables are."""
    if is_where:
        click.echo(SCENARIO)
        return
    from api.terminal.serving import run_server
    from loaders.pipeline import load_paths

    with (
        tempfile.TemporaryDirectory(prefix="newel-demo-") as folder,
        open_graph(Path(folder) / "store", create=True) as graph,
    ):
        report = load_paths(graph, [SCENARIO], who="demonstration")
        click.echo(f"Loaded the demonstration scenario: {sum(report.counts.values()):,} rows.")
        run_server(graph, "127.0.0.1", port, get_settings({}))
