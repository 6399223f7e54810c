"""newel serve and newel demo: the application behind a real WSGI server. Imports the application factory."""

from __future__ import annotations

import os
import signal
import tempfile
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

import click
import waitress

from api.app import create_app
from api.http.origins import is_loopback_host
from api.settings import Settings, list_settings, read_settings
from api.terminal.options import open_graph, store_option
from loaders.pipeline import load_paths
from ontology.errors import UnavailableError
from ontology.live.live_graph import LiveGraph
from ontology.store.backups import answer_backup_requests

#: Seconds after which a stop no longer waits for answers under way.
STOP_WITHIN_S = 8.0
_F = TypeVar("_F", bound=Callable[..., Any])
SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


def with_settings(command: _F) -> _F:
    """Add an option for each setting."""
    for setting in reversed(list_settings()):
        flag = "--" + setting.name.replace("_", "-")
        about = f"{setting.about} In {setting.unit}; default: {setting.default:,}, or {setting.variable}."
        command = click.option(flag, setting.name, type=setting.kind, metavar="N", help=about)(command)
    return command


def get_settings(given: Mapping[str, Any]) -> Settings:
    """Return the settings of this process; a usage error says what is wrong with them."""
    try:
        return read_settings(os.environ, given)
    except ValueError as error:
        raise click.UsageError(f"{error}.") from None


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--open", "is_open", is_flag=True, help="No sign-in: everyone on this machine may read and write.")
@with_settings
@store_option
def serve(host: str, port: int, is_open: bool, store: Path, **given: Any) -> None:
    """Serve the API and the pages."""
    if not is_open:
        raise click.UsageError("There is no sign-in yet: say --open to serve without one, on this machine only.")
    if not is_loopback_host(_bracket(host)):
        raise click.UsageError(f"--open serves this machine only (127.0.0.1, ::1 or localhost), not {host}.")
    settings = get_settings(given)
    with open_graph(store) as graph:
        run_server(graph, host, port, settings)


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


def run_server(graph: LiveGraph, host: str, port: int, settings: Settings | None = None) -> None:
    """Serve until the process is told to stop (Ctrl-C or SIGTERM), then finish within `STOP_WITHIN_S`.

    Raises
    ------
    UnavailableError
        The port is taken or may not be used.
    """
    settings = settings or get_settings({})
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
