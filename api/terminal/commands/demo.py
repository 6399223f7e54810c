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
    from api.access.access import Access
    from ontology.live.live_graph import LiveGraph


@click.command("demo", help=__doc__)
@click.option("--port", type=click.IntRange(0, 65535), default=8000, show_default=True)
@click.option("--with-accounts", is_flag=True, help="With sign-in: prints invitations, to walk through the rights.")
@click.option("--where", "is_where", is_flag=True, help="Print the folder of the scenario's tables and stop.")
def run(port: int, with_accounts: bool, is_where: bool) -> None:
    """Load the scenario and serve it until stopped, or say where its tables are."""
    if is_where:
        from loaders.demonstration import SCENARIO

        click.echo(SCENARIO)
        return
    from api.terminal.serving import run_server

    accounts = _Invited() if with_accounts else None
    # who tries it out reads the page, not a line for each request
    run_server(_open_scenario(), "127.0.0.1", port, get_settings({}), log_from=logging.WARNING, accounts=accounts)


class _Invited:
    """Four who were invited to the scenario, each with other rights; gone with its store."""

    def open(self, graph: LiveGraph) -> Access:
        """Return what keeps their accounts."""
        from api.access.access import Access
        from api.access.database import find_database

        return Access(find_database(graph.store.path))

    def tell(self, access: Access, address: str) -> None:
        """Make the accounts and print the invitations."""
        from api.access.accounts import Grant
        from api.access.actor import Role

        who = (
            ("Architect", "keeps the framework", "", (Grant(Role.ARCHITECT),)),
            ("Lead of Wastewater", "leads that team", "", (Grant(Role.LEAD, "wastewater", with_below=True),)),
            ("Mirela Tanaka", "sees what is kept about her", "p008", ()),
            ("Administrator", "looks after the accounts", "", (Grant(Role.ADMINISTRATOR),)),
        )
        click.echo("Sign in as one of these: each link sets a password of your choice, once.")
        for name, does, person, grants in who:
            number = access.accounts.make(name, grants).number
            if person:
                access.accounts.tie(number, person)
            click.echo(f"  {name} ({does}): {address}/invitations/{access.invitations.make(number)}")


@contextmanager
def _open_scenario() -> Iterator[LiveGraph]:
    """Load the scenario into a store that is gone afterwards."""
    from loaders.demonstration import load_demonstration

    with (
        tempfile.TemporaryDirectory(prefix="newel-demo-") as folder,
        open_graph(Path(folder) / "store", create=True) as graph,
    ):
        report = load_demonstration(graph)
        click.echo(f"Loaded the demonstration scenario: {sum(report.counts.values()):,} rows.")
        yield graph
