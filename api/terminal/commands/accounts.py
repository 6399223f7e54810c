"""Accounts of who signs in: invite, list, tie to a person, make a lead, free, end; print the table of rights."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.terminal.options import find_beside, store_option
from ontology.errors import NotFoundError, UnavailableError

if TYPE_CHECKING:
    from api.access.accounts import Account, Accounts, Grant
    from api.access.actor import Role

#: Where a server listens unless it is told otherwise.
_HERE = "http://127.0.0.1:8000"


@click.group("accounts", help=__doc__)
def run() -> None:
    """Work on the database beside the store; a server that runs sees it at once."""


@run.command("rights", help="Print who may do what.")
def print_rights() -> None:
    """Print the table of rights."""
    from api.access.rights import print_matrix

    for line in print_matrix():
        click.echo(line)


@run.command("list", help="List the accounts.")
@store_option
def list_accounts(store: Path) -> None:
    """Print a line for each account."""
    for account in _open(store).list():
        parts = [f"{account.number}", account.name, *_tell_roles(account), *_tell_state(account)]
        click.echo("  ".join(filter(None, parts)))


@run.command("invite", help="Print a link by which somebody sets the password of an account; make the account.")
@click.argument("name")
@click.option("--administrator", is_flag=True, help="Accounts, rights, retention, erasure; sees no level of anyone.")
@click.option("--architect", is_flag=True, help="Framework, offers and teams; people only for a stated purpose.")
@click.option(
    "--public-url",
    envvar="NEWEL_PUBLIC_URL",
    default=_HERE,
    show_default=True,
    metavar="URL",
    help="Address of the server.",
)
@store_option
def invite(name: str, administrator: bool, architect: bool, public_url: str, store: Path) -> None:
    """Make the account where there is none of this name, and an invitation to it."""
    from api.access.actor import Role
    from api.access.database import Database
    from api.access.invitations import ENDS_AFTER_S, Invitations

    accounts = _open(store)
    account = accounts.find(name) or accounts.make(name)
    roles = [role for role, is_asked in ((Role.ADMINISTRATOR, administrator), (Role.ARCHITECT, architect)) if is_asked]
    if roles:
        _add(accounts, account, roles)
    secret = Invitations(Database(_find(store)), accounts).make(account.number)
    click.echo(f"{account.name} sets a password here, once and within {ENDS_AFTER_S / 3600:.0f} hours:")
    click.echo(f"{public_url.rstrip('/')}/invitations/{secret}")


@run.command("lead", help="Make somebody the lead of teams, and of no others.")
@click.argument("name")
@click.argument("teams", nargs=-1)
@click.option("--with-below", is_flag=True, help="Also of the teams that are part of these.")
@store_option
def make_lead(name: str, teams: tuple[str, ...], with_below: bool, store: Path) -> None:
    """Replace the teams that an account leads."""
    from api.access.accounts import Grant
    from api.access.actor import Role

    accounts = _open(store)
    account = _require(accounts, name)
    others = [grant for grant in account.grants if grant.role is not Role.LEAD]
    accounts.grant(account.number, [*others, *(Grant(Role.LEAD, team, with_below=with_below) for team in teams)])
    click.echo(f"{account.name} leads {', '.join(teams) or 'no team'}.")


@run.command("tie", help="Tie an account to a person, by their id; without one to nobody.")
@click.argument("name")
@click.argument("person", default="")
@store_option
def tie(name: str, person: str, store: Path) -> None:
    """Tie an account to a person."""
    accounts = _open(store)
    account = _require(accounts, name)
    accounts.tie(account.number, person)
    click.echo(f"{account.name} is {person or 'nobody in particular'}.")


@run.command("free", help="Let an account try passwords again that had too many wrong ones.")
@click.argument("name")
@store_option
def free(name: str, store: Path) -> None:
    """Free an account."""
    accounts = _open(store)
    accounts.free(_require(accounts, name).number)
    click.echo(f"{name} may sign in again.")


@run.command("end", help="End an account with its sessions and tokens.")
@click.argument("name")
@store_option
def end(name: str, store: Path) -> None:
    """End an account."""
    accounts = _open(store)
    accounts.end(_require(accounts, name).number)
    click.echo(f"{name} has ended, with every session and token.")


@run.command("events", help="List security events, the latest first: when, account, what, by whom; by tabs.")
@click.option("--most", type=click.IntRange(1), help="At most so many; all where it is not said.")
@store_option
def list_events(most: int | None, store: Path) -> None:
    """Print a line for each event."""
    from api.access.database import Database
    from api.access.events import Events

    for event in Events(Database(_find(store))).list(most):
        click.echo("\t".join((event.when.isoformat(timespec="seconds"), event.account, event.what, event.by)))


def _open(store: Path) -> Accounts:
    from api.access.accounts import Accounts
    from api.access.database import Database
    from api.access.passwords import Passwords

    return Accounts(Database(_find(store)), Passwords())


def _find(store: Path) -> Path:
    if not store.is_dir():
        raise UnavailableError(f"There is no store in {store}; make one with: newel load")
    return find_beside(store)


def _require(accounts: Accounts, name: str) -> Account:
    account = accounts.find(name)
    if account is None:
        raise NotFoundError(f"There is no account {name!r}; newel accounts list names them.")
    return account


def _add(accounts: Accounts, account: Account, roles: Iterable[Role]) -> None:
    from api.access.accounts import Grant

    accounts.grant(account.number, {*account.grants, *map(Grant, roles)})


def _tell_roles(account: Account) -> Iterable[str]:
    if account.person:
        yield f"person {account.person}"
    yield from map(_tell_grant, account.grants)


def _tell_grant(grant: Grant) -> str:
    below = " and below" if grant.with_below else ""
    about = " in ".join(filter(None, (grant.competency, grant.team)))
    return f"{grant.role.value} of {about}{below}" if about else grant.role.value


def _tell_state(account: Account) -> Iterable[str]:
    if account.is_ended:
        yield "(ended)"
    elif account.is_stopped:
        yield "(stopped: too many wrong passwords)"
    elif not account.has_password:
        yield "(invited)"
