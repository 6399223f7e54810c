"""The application behind a real WSGI server, until it is told to stop.

The server listens before the store is open, and says so; told to stop (Ctrl-C or SIGTERM) it takes nothing new and
finishes what is under way.
"""

from __future__ import annotations

import logging
import os
import signal
import threading
from contextlib import AbstractContextManager
from functools import partial
from types import FrameType
from typing import TYPE_CHECKING, Final, Protocol

import click
from flask import Flask

from api.app import create_app
from api.http.context import EXTENSION
from api.http.front import Front, Seen
from api.http.logs import log_request, set_up_logs
from api.settings import Settings
from api.terminal.listening import Listener
from api.terminal.served_note import leaving_note, make_note
from api.terminal.window import build_window
from ontology.errors import UnavailableError
from ontology.live.live_graph import LiveGraph
from ontology.store.backups import answer_backup_requests

if TYPE_CHECKING:
    from api.access.access import Access
    from api.http.metrics import Metrics

#: Seconds a process that was told to stop may take beyond the answers under way.
_CLOSE_WITHIN_S: Final = 1.0


class Accounting(Protocol):
    """Who may sign in to what is served: opened with the store, and told of once the server listens."""

    def open(self, graph: LiveGraph) -> Access:
        """Return what keeps the accounts beside the store."""

    def tell(self, access: Access, address: str) -> None:
        """Say what whoever started the server has to know of them."""


def run_server(
    opening: AbstractContextManager[LiveGraph],
    host: str,
    port: int,
    settings: Settings,
    *,
    log_from: int = logging.INFO,
    accounts: Accounting | None = None,
) -> None:
    """Serve until the process is told to stop, then finish within `settings.stop_within_s`.

    `opening` opens the store while the server listens already; `log_from` is the least level of what is logged,
    requests being INFO; `accounts` says who may sign in, None: it is open to whoever reaches it.

    Raises
    ------
    UnavailableError
        The port, or that of the metrics, is taken or may not be used.
    """
    set_up_logs(log_from)
    signal.signal(signal.SIGTERM, _stop)
    metrics = _start_metrics(settings.metrics_port) if settings.metrics_port else None
    front = Front(partial(_tell, metrics))
    try:
        listener = Listener(front, host, port, settings)
    except UnavailableError:
        with opening:  # where the store is served already, that is what one has to know first
            raise
    try:
        with opening as graph:
            access = accounts.open(graph) if accounts is not None else None
            app = _build_app(graph, settings, metrics, access)
            note = make_note(host, listener.port)
            app.register_blueprint(build_window(note))
            answer_backup_requests(graph.store)
            _start_daily(app, graph, settings, access)
            front.open(app)
            with leaving_note(graph.store.path, note):
                click.echo(f"Serving on http://{bracket(host)}:{listener.port}/ (stop with Ctrl-C)")
                if accounts is not None and access is not None:
                    accounts.tell(access, f"http://{bracket(host)}:{listener.port}")
                _wait_for_stop()
            _finish(front, listener, settings.stop_within_s)
    except (KeyboardInterrupt, SystemExit):
        click.echo("Stopped at once.")  # before there was anything to answer with, or by a second signal


def bracket(host: str) -> str:
    """Return a host as it stands in an address: IPv6 in brackets (RFC 3986, section 3.2.2)."""
    return f"[{host}]" if ":" in host else host


def _start_metrics(port: int) -> Metrics:
    from api.http.metrics import LOOPBACK, Metrics  # whoever does not ask for them does not import them

    metrics = Metrics()
    metrics.serve(port)
    click.echo(f"Metrics on http://{LOOPBACK}:{port}/metrics")
    return metrics


def _build_app(graph: LiveGraph, settings: Settings, metrics: Metrics | None, access: Access | None) -> Flask:
    import ontology.checks.changes  # noqa: F401 - a change is not to wait for the checks to be imported

    app = create_app(graph, settings, access)
    if metrics is not None:
        metrics.watch(app.extensions[EXTENSION])
    return app


def _start_daily(app: Flask, graph: LiveGraph, settings: Settings, access: Access | None) -> None:
    if settings.retention_daily:
        from api.terminal.daily import start_daily  # whoever does not ask for it does not import it

        start_daily(app, graph, settings, access)


def _tell(metrics: Metrics | None, seen: Seen) -> None:
    log_request(seen)
    if metrics is not None:
        metrics.count(seen)


def _wait_for_stop() -> None:
    try:
        threading.Event().wait()
    except (KeyboardInterrupt, SystemExit):
        click.echo("Stopping.")


def _finish(front: Front, listener: Listener, within_s: float) -> None:
    """Take nothing new and let what is under way end; what takes longer is left behind."""
    front.close()
    # commits are on disk when they return, so leaving a slow answer behind loses nothing
    timer = threading.Timer(within_s + _CLOSE_WITHIN_S, os._exit, (0,))
    timer.daemon = True
    timer.start()
    front.wait_until_idle(within_s)
    listener.stop(_CLOSE_WITHIN_S)


def _stop(number: int, frame: FrameType | None) -> None:
    raise SystemExit(0)
