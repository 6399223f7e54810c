"""newel serve and newel demo: the application behind a real WSGI server. Imports the application factory."""

from __future__ import annotations

import os
import signal
import tempfile
import threading
from pathlib import Path
from types import FrameType

import click
import waitress

from api.app import create_app
from api.commands.options import open_graph, store_option
from api.origins import is_loopback_host
from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.backups import answer_backup_requests
from ontology.errors import UnavailableError
from ontology.graph.live import LiveGraph

#: Seconds after which a stop no longer waits for answers under way.
STOP_WITHIN_S = 8.0
SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--open", "is_open", is_flag=True, help="No sign-in: everyone on this machine may read and write.")
@store_option
def serve(host: str, port: int, is_open: bool, store: Path) -> None:
    """Serve the API and the pages."""
    if not is_open:
        raise click.UsageError("There is no sign-in yet: say --open to serve without one, on this machine only.")
    if not is_loopback_host(_bracket(host)):
        raise click.UsageError(f"--open serves this machine only (127.0.0.1, ::1 or localhost), not {host}.")
    with open_graph(store) as graph:
        run_server(graph, host, port)


@click.command()
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--where", "is_where", is_flag=True, help="Print the folder of the scenario's tables and stop.")
def demo(port: int, is_where: bool) -> None:
    """Serve the demonstration scenario from a temporary store, on this machine only."""
    if is_where:
        click.echo(SCENARIO)
        return
    with (
        tempfile.TemporaryDirectory(prefix="newel-demo-") as folder,
        open_graph(Path(folder) / "store", create=True) as graph,
    ):
        report = load_paths(graph, [SCENARIO], who="demonstration")
        click.echo(f"Loaded the demonstration scenario: {sum(report.counts.values()):,} rows.")
        run_server(graph, "127.0.0.1", port)


def run_server(graph: LiveGraph, host: str, port: int) -> None:
    """Serve until the process is told to stop (Ctrl-C or SIGTERM), then finish within `STOP_WITHIN_S`.

    Raises
    ------
    UnavailableError
        The port is taken or may not be used.
    """
    settings = Settings()
    app = create_app(graph, settings)
    try:
        server = waitress.create_server(
            app, host=host, port=port, threads=settings.threads, ident="newel", clear_untrusted_proxy_headers=True
        )
    except OSError as error:
        raise UnavailableError(
            f"Cannot listen on {host} port {port}: {error.strerror}.", host=host, port=port
        ) from error
    signal.signal(signal.SIGTERM, _stop)
    answer_backup_requests(graph.store)
    click.echo(f"Serving on http://{_bracket(host)}:{server.effective_port}/ (stop with Ctrl-C)")
    try:
        server.run()
    except (KeyboardInterrupt, SystemExit):
        click.echo("Stopping.")
    finally:
        _exit_at_the_latest()
        server.task_dispatcher.shutdown(cancel_pending=True, timeout=2)
        server.close()


def _bracket(host: str) -> str:
    """Return a host as it stands in an address: IPv6 in brackets (RFC 3986, section 3.2.2)."""
    return f"[{host}]" if ":" in host else host


def _stop(number: int, frame: FrameType | None) -> None:
    raise SystemExit(0)


def _exit_at_the_latest() -> None:
    # commits are on disk when they return, so leaving a slow answer behind loses nothing
    timer = threading.Timer(STOP_WITHIN_S, os._exit, (0,))
    timer.daemon = True
    timer.start()


COMMANDS = (serve, demo)
