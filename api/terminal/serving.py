"""The application behind a real WSGI server, until it is told to stop."""

from __future__ import annotations

import os
import signal
import threading
from types import FrameType

import click
import waitress

from api.app import create_app
from api.settings import Settings
from api.terminal.served_note import leaving_note, make_note
from api.terminal.window import build_window
from ontology.errors import UnavailableError
from ontology.live.live_graph import LiveGraph
from ontology.store.backups import answer_backup_requests

__all__ = ["bracket", "run_server"]

#: Seconds after which a stop no longer waits for answers under way.
STOP_WITHIN_S = 8.0


def run_server(graph: LiveGraph, host: str, port: int, settings: Settings) -> None:
    """Serve until the process is told to stop (Ctrl-C or SIGTERM), then finish within `STOP_WITHIN_S`.

    Raises
    ------
    UnavailableError
        The port is taken or may not be used.
    """
    # a change is not to wait for the checks to be imported
    import ontology.checks.changes  # noqa: F401

    app = create_app(graph, settings)
    try:
        server = waitress.create_server(
            app, host=host, port=port, threads=settings.threads, ident="newel", clear_untrusted_proxy_headers=True
        )
    except OSError as error:
        raise UnavailableError(
            f"Cannot listen on {host} port {port}: {error.strerror}.", host=host, port=port
        ) from error
    note = make_note(host, int(server.effective_port))
    app.register_blueprint(build_window(note))
    signal.signal(signal.SIGTERM, _stop)
    answer_backup_requests(graph.store)
    try:
        with leaving_note(graph.store.path, note):
            click.echo(f"Serving on http://{bracket(host)}:{server.effective_port}/ (stop with Ctrl-C)")
            server.run()
    except (KeyboardInterrupt, SystemExit):
        click.echo("Stopping.")
    finally:
        _exit_at_the_latest()
        server.task_dispatcher.shutdown(cancel_pending=True, timeout=2)
        server.close()


def bracket(host: str) -> str:
    """Return a host as it stands in an address: IPv6 in brackets (RFC 3986, section 3.2.2)."""
    return f"[{host}]" if ":" in host else host


def _stop(number: int, frame: FrameType | None) -> None:
    raise SystemExit(0)


def _exit_at_the_latest() -> None:
    # commits are on disk when they return, so leaving a slow answer behind loses nothing
    timer = threading.Timer(STOP_WITHIN_S, os._exit, (0,))
    timer.daemon = True
    timer.start()
