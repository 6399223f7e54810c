"""One's own account: seen, its password changed, its sessions and tokens ended, what one shows."""

from __future__ import annotations

import datetime as dt
from typing import Final

from flask import Blueprint, Response

from api.access.actor import Scope
from api.access.rights import Kind
from api.desk.names import Names
from api.errors import ThrottledError, UnauthenticatedError, get_kind
from api.http.access_context import forget_short, keep_short, read_short, require_access, set_session
from api.http.context import get_desk, get_request, get_settings
from api.http.own_paths import find_own_path
from api.http.signed_in import get_network_address, require_account, require_session
from api.pages.account import TokenView, build_account, describe_account, describe_token
from api.pages.account_words import VERBS, list_kinds
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import InputError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_TOKEN: Final = "token"
_DONE: Final = {
    "password": "The password is changed. Every other session has ended.",
    "session": "The session has ended.",
    "token": "The token has ended.",
    "shown": "Your lead sees the page from now on.",
    "stopped": "Your lead no longer sees the page.",
    "purpose": "The purpose stands in the log of everyone you look at.",
    "purposes": "You see nobody by name any more.",
}


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("account", __name__)
    add = blueprint.add_url_rule
    add("/account", "show", show_account)
    add("/account/password", "password", change_password, methods=["POST"])
    add("/account/sessions/end", "end_session", end_session, methods=["POST"])
    add("/account/tokens/new", "new_token", show_new_token)
    add("/account/tokens/new", "make_token", make_token, methods=["POST"])
    add("/account/tokens/end", "end_token", end_token, methods=["POST"])
    add("/account/shares", "share", share, methods=["POST"])
    add("/account/shares/stop", "stop_share", stop_share, methods=["POST"])
    return blueprint


def show_account() -> Response:
    """Show the account; the secret of a token that was just made is shown this once."""
    return forget_short(_show(_DONE.get(get_request().args.get("done", ""), "")), _TOKEN)


def _show(done: str = "", wrong: dict[str, str] | None = None, status: int = 200) -> Response:
    access, session, state = require_access(), require_session(), get_desk().get_state()
    account = require_account()
    view = build_account(
        account,
        Names(state.snapshot),
        sessions=access.sessions.list(account.number),
        this=session,
        tokens=access.tokens.list(account.number),
        purposes=access.purposes.list(account.number),
        shown=access.shares.list(account.person, state.today) if account.person else (),
        to_confirm=sum(one.account != account.number for one in access.erasures_asked.list()),
        secret=read_short(_TOKEN),
        done=done,
        wrong=wrong,
    )
    return send_page(describe_account(view), status=status)


def change_password() -> Response:
    """Change the password, for who knows the old one."""
    form, session = get_request().form, require_session()
    try:
        secret = require_access().change_password(
            session,
            form.get("old", ""),
            form.get("new", ""),
            address=get_network_address(),
            words=(get_settings().company,),
        )
    except UnauthenticatedError as error:
        return _show(wrong={"old": error.detail}, status=422)
    except ThrottledError as error:
        return _show(wrong={"old": error.detail}, status=get_kind(error).status)
    except InputError as error:
        return _show(wrong={"new": error.detail}, status=422)
    return set_session(go("/account?done=password"), secret)


def end_session() -> Response:
    """End one session of one's own, or all but this one."""
    access, session, named = require_access(), require_session(), get_request().form.get("number", "")
    others = [one.number for one in access.sessions.list(session.account) if one.number != session.number]
    for number in others:
        if named in ("others", str(number)):
            access.sessions.end_number(session.account, number)
            access.events.tell("session ended", session.account)
    return go("/account?done=session")


def show_new_token() -> Response:
    """Show the form of a token."""
    return require_confirmed() or send_page(describe_token(TokenView(), get_desk().get_state().today))


def make_token() -> Response:
    """Make a token and show its secret once."""
    asked = require_confirmed()
    if asked is not None:
        return asked
    form = get_request().form
    typed = {name: form.get(name, "") for name in ("name", "days", "verbs", "teams")}
    kinds = tuple(form.getlist("kinds"))
    try:
        days = int(typed["days"]) if typed["days"].strip().isdecimal() else 0
        secret = require_access().tokens.make(require_session().account, typed["name"], _read_scope(typed, kinds), days)
    except InputError as error:
        view = TokenView(**typed, kinds=kinds, wrong=error.detail)
        return send_page(describe_token(view, get_desk().get_state().today), status=422)
    return keep_short(go("/account"), _TOKEN, secret)


def _read_scope(typed: dict[str, str], kinds: tuple[str, ...]) -> Scope:
    known = {name for name, _ in list_kinds()}
    if not kinds or not known.issuperset(kinds) or typed["verbs"] not in VERBS:
        raise InputError("Tick at least one thing that the token may.", parameter="kinds")
    teams = frozenset(typed["teams"].split())
    unknown = sorted(teams - get_desk().get_state().snapshot.teams.keys())
    if unknown:
        raise InputError(f"There is no team {', '.join(unknown)}.", parameter="teams")
    return Scope(frozenset(Kind[name] for name in kinds), VERBS[typed["verbs"]][1], teams)


def end_token() -> Response:
    """End a token of one's own."""
    require_access().tokens.end(require_session().account, _read_number())
    return go("/account?done=token")


def share() -> Response:
    """Show a page of one's own to one's lead until a day."""
    form, today = get_request().form, get_desk().get_state().today
    address = find_own_path(form.get("address", ""))
    try:
        until = dt.date.fromisoformat(form.get("until", ""))
    except ValueError:
        raise InputError("Say until which day the page is shown.", parameter="until") from None
    require_access().shares.show(require_account().person, address, until, today)
    return go("/account?done=shown")


def stop_share() -> Response:
    """Show a page no longer."""
    require_access().shares.stop(require_account().person, _read_number())
    return go("/account?done=stopped")


def _read_number() -> int:
    text = get_request().form.get("number", "")
    return int(text[:18]) if text.isascii() and text.isdecimal() else 0
