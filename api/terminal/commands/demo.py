"""Serve the demonstration scenario from a temporary store, on this machine only."""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.terminal.options import get_settings, open_graph

if TYPE_CHECKING:
    from ontology.live.live_graph import LiveGraph

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

    # who tries it out reads the page, not a line for each request
    run_server(_open_scenario(), "127.0.0.1", port, get_settings({}), log_from=logging.WARNING)


@contextmanager
def _open_scenario() -> Iterator[LiveGraph]:
    """Load the scenario into a store that is gone afterwards."""
    from loaders.pipeline import load_paths

    with (
        tempfile.TemporaryDirectory(prefix="newel-demo-") as folder,
        open_graph(Path(folder) / "store", create=True) as graph,
    ):
        report = load_paths(graph, [SCENARIO], who="demonstration")
        click.echo(f"Loaded the demonstration scenario: {sum(report.counts.values()):,} rows.")
        yield graph
