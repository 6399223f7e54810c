"""Serve the API and the pages to who signs in; with --open to everyone on this machine."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from api.http.origins import is_loopback_host
from api.terminal.options import DEFAULT_STORE, get_settings, open_graph, settings_options, store_option
from api.terminal.serving import bracket, run_server
from ontology.errors import UnavailableError

if TYPE_CHECKING:
    from api.access.access import Access
    from api.access.provider import Provider
    from api.settings import Settings
    from ontology.live.live_graph import LiveGraph

#: Where the provider's secret stands unless a file is named: it is in no option and no settings file.
_SECRET = "NEWEL_PROVIDER_SECRET"
_LOCKED = "Is it being served already? A store has one server."


@click.command("serve", help=__doc__)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--open", "is_open", is_flag=True, help="No sign-in: everyone on this machine may read and write.")
@settings_options
@store_option
def run(host: str, port: int, is_open: bool, store: Path, **given: Any) -> None:
    """Serve until stopped."""
    settings, is_own_machine = get_settings(given), is_loopback_host(bracket(host))
    if is_open and not is_own_machine:
        raise click.UsageError(f"--open serves this machine only (127.0.0.1, ::1 or localhost), not {host}.")
    if not (is_open or is_own_machine or settings.public_url):
        raise click.UsageError(f"To serve on {host}, say by which address browsers reach it: --public-url https://...")
    accounts = None if is_open else _require_accounts(store, settings)
    run_server(open_graph(store, if_locked=_LOCKED), host, port, settings, accounts=accounts)


class _Accounts:
    """The accounts beside the store."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def open(self, graph: LiveGraph) -> Access:
        """Return what keeps them."""
        return self._access

    def tell(self, access: Access, address: str) -> None:
        """Say how many can sign in."""
        able = sum(account.has_password or account.has_provider for account in access.accounts.list())
        click.echo(f"{able} accounts can sign in; newel accounts list names them.")


def _require_accounts(store: Path, settings: Settings) -> _Accounts:
    """Return the accounts beside a store; an error with the command to run where nobody administers them yet."""
    from api.access.access import Access
    from api.access.database import find_database
    from api.access.purposes import split_reasons

    path = find_database(store)
    if not store.is_dir():
        raise UnavailableError(f"There is no store in {store}; make one with: newel load")
    access = Access(path, reasons=split_reasons(settings.purpose_reasons))
    if not (access.accounts.has_administrator() or access.invitations.has_administrator()):
        where = f" --store {store}" if store != Path(DEFAULT_STORE) else ""
        url = f" --public-url {settings.public_url}" if settings.public_url else ""
        raise click.ClickException(
            "Nobody administers the accounts yet. Run this, start the server, then open the link that was printed:\n"
            f"  newel accounts invite NAME --administrator{url}{where}"
        )
    access.provider = _build_provider(settings)
    return _Accounts(access)


def _build_provider(settings: Settings) -> Provider | None:
    if not settings.provider_issuer:
        return None
    from api.access.provider import Provider

    try:
        secret = Path(settings.provider_secret_file).read_text("utf-8") if settings.provider_secret_file else ""
        return Provider(
            settings.provider_issuer,
            settings.provider_client_id,
            (secret or os.environ.get(_SECRET, "")).strip(),
            acr=settings.provider_acr,
            amr=tuple(settings.provider_amr.split()),
        )
    except (OSError, ValueError) as error:
        raise click.UsageError(f"The provider cannot be used: {error}.") from None
