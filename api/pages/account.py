"""One's own account: what it may, where it is signed in, what programs hold of it, what one shows, the password."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from api.access.accounts import Account
from api.access.actor import Purpose, Role
from api.access.passwords import LEAST, MOST
from api.access.sessions import Session
from api.access.shares import Shared
from api.access.tokens import DAYS, MOST_DAYS, Token
from api.desk.names import Names, count
from api.pages.account_words import VERBS, list_kinds, list_rights, tell_browser, tell_moment, tell_page, to_moment
from api.pages.page import Link, Page

__all__ = ["AccountView", "Row", "TokenView", "build_account", "describe_account", "describe_token"]


@dataclass(frozen=True, slots=True)
class Row:
    """A session, a token, a page that is shown or a purpose: when, what, more of it, and the number to end it by."""

    number: int
    when: str
    words: str
    more: str = ""
    address: str = ""
    is_this: bool = False


@dataclass(frozen=True, slots=True)
class AccountView:
    """All that stands on the page; `wrong` is what is wrong with the password that was typed, by the field."""

    name: str
    lead: str
    rights: tuple[str, ...]
    has_password: bool
    is_architect: bool
    is_administrator: bool
    to_confirm: str
    purposes: tuple[Row, ...]
    is_person: bool
    shown: tuple[Row, ...]
    sessions: tuple[Row, ...]
    tokens: tuple[Row, ...]
    secret: str
    done: str
    wrong: dict[str, str]


@dataclass(frozen=True, slots=True)
class TokenView:
    """The form of a new token as it was filled in, and what is wrong with it."""

    name: str = ""
    days: str = str(DAYS)
    kinds: tuple[str, ...] = ()
    verbs: str = "see"
    teams: str = ""
    wrong: str = ""


def build_account(
    account: Account,
    names: Names,
    *,
    sessions: Iterable[Session],
    this: Session,
    tokens: Iterable[Token],
    purposes: Iterable[Purpose],
    shown: Iterable[Shared],
    to_confirm: int = 0,
    secret: str = "",
    done: str = "",
    wrong: dict[str, str] | None = None,
) -> AccountView:
    """Return the page of an account.

    Parameters
    ----------
    account, names : whose, and the names of people and teams
    sessions, this : those that are open, and the one that asks
    tokens, purposes, shown : what has not ended
    to_confirm : erasures that wait for somebody like them
    secret : of a token that was just made; it is shown this once
    done : what was just done
    wrong : what is wrong with a password typed here, by the name of its field
    """
    open_sessions = tuple(_build_session(session, session.number == this.number) for session in sessions)
    return AccountView(
        name=account.name,
        lead=f"You are signed in as {account.name}, in {count(len(open_sessions), 'browser')}.",
        rights=list_rights(account, names),
        has_password=account.has_password,
        is_architect=any(grant.role is Role.ARCHITECT for grant in account.grants),
        is_administrator=any(grant.role is Role.ADMINISTRATOR for grant in account.grants),
        to_confirm=count(to_confirm, "erasure waits", "erasures wait") if to_confirm else "",
        purposes=tuple(_build_purpose(purpose, names) for purpose in purposes),
        is_person=bool(account.person),
        shown=tuple(_build_shown(one, names) for one in shown),
        sessions=open_sessions,
        tokens=tuple(map(_build_token, tokens)),
        secret=secret,
        done=done,
        wrong=wrong or {},
    )


def _build_session(session: Session, is_this: bool) -> Row:
    seen = f"last seen {tell_moment(to_moment(session.seen_at))}"
    words = "This browser" if is_this else "Another browser"
    return Row(
        session.number,
        tell_moment(to_moment(session.made_at)),
        words,
        f"{tell_browser(session.about)}, {seen}.",
        "",
        is_this,
    )


def _build_token(token: Token) -> Row:
    scope = token.scope
    verbs = ", ".join(sorted(verb.name.lower() for verb in scope.verbs))
    kinds = ", ".join(sorted(kind.value for kind in scope.kinds))
    teams = f"; teams {', '.join(sorted(scope.teams))}" if scope.teams else ""
    used = f"last used {tell_moment(to_moment(token.used_at))}" if token.used_at else "never used"
    ends = f"until {tell_moment(to_moment(token.ends_at))}"
    return Row(token.number, ends, token.name, f"May {verbs}: {kinds}{teams}. {used[0].upper()}{used[1:]}.")


def _build_purpose(purpose: Purpose, names: Names) -> Row:
    about = names.person(purpose.person) if purpose.person else names.team(purpose.team)
    return Row(0, f"until {tell_moment(purpose.ends_at)}", about, purpose.reason)


def _build_shown(one: Shared, names: Names) -> Row:
    share = one.share
    until = f"until {share.until.day} {share.until:%B %Y}"
    return Row(one.number, until, tell_page(share.address, names), "Your lead sees this page.", share.address)


def describe_account(view: AccountView) -> Page:
    """Return the page of one's own account."""
    return Page("account.html", {"view": view, "least": LEAST, "most": MOST})


def describe_token(view: TokenView, today: dt.date) -> Page:
    """Return the page on which a token is made."""
    last = today + dt.timedelta(days=DAYS)
    values = {"view": view, "kinds": list_kinds(), "verbs": VERBS, "most_days": MOST_DAYS, "usual": DAYS, "last": last}
    return Page("token.html", values, trail=(Link("Your account", "/account"),))
