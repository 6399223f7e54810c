"""Accounts as an administrator sees them: who can sign in, what each was made, and what happened to them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from api.access.accounts import Account, Grant
from api.access.actor import Role
from api.access.events import Event
from api.desk.names import Names, count
from api.desk.sheet import Column, Table
from api.pages.account_words import tell_grant, tell_moment, tell_state
from api.pages.page import Link, Page

__all__ = [
    "AccountRow",
    "OneAccountView",
    "RightsForm",
    "build_list",
    "build_one",
    "describe_accounts",
    "describe_events",
    "describe_one",
    "fill_rights",
]

_TRAIL = (Link("Accounts", "/accounts"),)
#: Empty rows to fill in below what there is.
_MORE = 2


@dataclass(frozen=True, slots=True)
class AccountRow:
    """An account in the list."""

    address: str
    name: str
    person: str
    rights: str
    state: str


@dataclass(frozen=True, slots=True)
class RightsForm:
    """What an account is made, as it stands in the form: rows of team and tick, rows of competency and team."""

    is_architect: bool = False
    is_administrator: bool = False
    leads: tuple[tuple[str, bool], ...] = ()
    assesses: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class OneAccountView:
    """All that stands on the page of one account; `link` is an invitation that was just made, shown this once."""

    number: int
    name: str
    lead: str
    rights: tuple[str, ...]
    person: str
    is_own: bool
    is_ended: bool
    is_stopped: bool
    has_sessions: int
    form: RightsForm
    link: str = ""
    done: str = ""
    wrong: Mapping[str, str] = field(default_factory=dict)


def build_list(accounts: Iterable[Account], names: Names) -> tuple[AccountRow, ...]:
    """Return the accounts as rows, those that have ended last."""
    rows = sorted(accounts, key=lambda one: (one.is_ended, one.number))
    return tuple(
        AccountRow(
            address=f"/accounts/{one.number}",
            name=one.name,
            person=names.person(one.person) if one.person else "",
            rights=", ".join(tell_grant(grant, names) for grant in one.grants),
            state=tell_state(one),
        )
        for one in rows
    )


def fill_rights(grants: Iterable[Grant]) -> RightsForm:
    """Return the form of what an account was made."""
    listed = tuple(grants)
    return RightsForm(
        is_architect=any(grant.role is Role.ARCHITECT for grant in listed),
        is_administrator=any(grant.role is Role.ADMINISTRATOR for grant in listed),
        leads=tuple((grant.team, grant.with_below) for grant in listed if grant.role is Role.LEAD),
        assesses=tuple((grant.competency, grant.team) for grant in listed if grant.role is Role.ASSESSOR),
    )


def build_one(
    account: Account,
    names: Names,
    *,
    is_own: bool,
    n_sessions: int,
    form: RightsForm | None = None,
    link: str = "",
    done: str = "",
    wrong: Mapping[str, str] | None = None,
) -> OneAccountView:
    """Return the page of one account; `form` is what was typed where that was refused."""
    who = f" and is {names.person(account.person)}" if account.person else ", and is tied to nobody"
    return OneAccountView(
        number=account.number,
        name=account.name,
        lead=f"{account.name} {_STATES.get(tell_state(account), 'can sign in')}{who}.",
        rights=tuple(tell_grant(grant, names) for grant in account.grants),
        person=account.person,
        is_own=is_own,
        is_ended=account.is_ended,
        is_stopped=account.is_stopped,
        has_sessions=n_sessions,
        form=form or fill_rights(account.grants),
        link=link,
        done=done,
        wrong=wrong or {},
    )


_STATES = {
    "ended": "has ended",
    "invited": "was invited",
    "stopped: too many wrong passwords": "is stopped after too many wrong passwords",
}


def describe_accounts(rows: tuple[AccountRow, ...], name: str = "", wrong: str = "") -> Page:
    """Return the list of accounts, with the form to invite one more."""
    able = sum(row.state == "can sign in" for row in rows)
    invited = sum(row.state == "invited" for row in rows)
    more = f", {invited} {'is' if invited == 1 else 'are'} invited" if invited else ""
    lead = f"{count(able, 'account')} can sign in{more}."
    return Page("accounts.html", {"rows": rows, "lead": lead, "name": name, "wrong": wrong})


def describe_one(view: OneAccountView) -> Page:
    """Return the page of one account."""
    rows = {"leads": (*view.form.leads, *[("", False)] * _MORE), "assesses": (*view.form.assesses, *[("", "")] * _MORE)}
    return Page("one_account.html", {"view": view, "filled": rows}, trail=_TRAIL)


def describe_events(events: Iterable[Event]) -> Page:
    """Return what happened to accounts, the latest first."""
    rows = tuple((tell_moment(one.when), one.account or "–", one.what, one.by or "–") for one in events)
    columns = (Column("when"), Column("account"), Column("what happened"), Column("by"))
    table = Table("Security events", columns, rows, "Nothing has happened yet.")
    return Page("events.html", {"table": table, "lead": f"The latest {count(len(rows), 'event')}."}, trail=_TRAIL)
