"""Serve the API and the pages."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from api.http.origins import is_loopback_host
from api.terminal.options import get_settings, open_graph, settings_options, store_option
from api.terminal.serving import bracket, run_server

_LOCKED = "Is it being served already? A store has one server."


@click.command("serve", help=__doc__)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--open", "is_open", is_flag=True, help="No sign-in: everyone on this machine may read and write.")
@settings_options
@store_option
def run(host: str, port: int, is_open: bool, store: Path, **given: Any) -> None:
    """Serve until stopped."""
    if not is_open:
        raise click.UsageError("There is no sign-in yet: say --open to serve without one, on this machine only.")
    if not is_loopback_host(bracket(host)):
        raise click.UsageError(f"--open serves this machine only (127.0.0.1, ::1 or localhost), not {host}.")
    settings = get_settings(given)
    run_server(open_graph(store, if_locked=_LOCKED), host, port, settings)
