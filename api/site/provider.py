"""Signing in with the company's account at a provider, where one is set: the way there and back.

The way there begins with a link: a form whose answer leads elsewhere is stopped by our own policy (form-action 'self').
"""

from __future__ import annotations

from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, Response

from api.access.provider_starts import ENDS_AFTER_S, Start
from api.access.sessions import Session
from api.errors import UnauthenticatedError
from api.http.access_context import (
    INVITATION,
    forget_short,
    keep_short,
    read_session_secret,
    read_short,
    require_access,
    set_session,
)
from api.http.context import get_request, get_settings
from api.http.own_paths import find_own_path
from api.http.signed_in import find_session, get_browser, keep_session, require_session
from api.pages.sign_in import SignInView, describe_sign_in
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import ConflictError, NotFoundError

__all__ = ["build_blueprint", "build_confirm_address", "build_start_address"]

NEEDS_ACCOUNTS: Final = True
_START: Final = "start"
_BACK: Final = "/sign-in/provider/back"


def build_blueprint() -> Blueprint:
    """Return the blueprint of the way."""
    blueprint = Blueprint("provider", __name__)
    blueprint.add_url_rule("/sign-in/provider", "start", start)
    blueprint.add_url_rule(_BACK, "back", come_back)
    blueprint.add_url_rule("/account/confirm/provider", "again", start_again)
    return blueprint


def build_start_address(to: str, *, is_invited: bool = False) -> str:
    """Return the address at which the way to the provider begins; "" where there is none."""
    return _build_address("/sign-in/provider", to, **({"invited": "1"} if is_invited else {}))


def build_confirm_address(to: str) -> str:
    """Return the address at which one signs in again at the provider; "" where there is none."""
    return _build_address("/account/confirm/provider", to)


def _build_address(path: str, to: str, **more: str) -> str:
    return f"{path}?{urlencode({'to': to, **more})}" if require_access().provider is not None else ""


def start() -> Response:
    """Lead to the provider, to sign in there."""
    asked = get_request().args
    return _lead(require_access().starts.make(find_own_path(asked.get("to", "")), is_invited="invited" in asked))


def start_again() -> Response:
    """Lead to the provider, to sign in there once more."""
    to = find_own_path(get_request().args.get("to", ""))
    return _lead(require_access().starts.make(to, account=require_session().account))


def _lead(begun: Start) -> Response:
    provider = require_access().provider
    if provider is None:
        raise NotFoundError("There is no sign-in with a company's account here.")
    # what begins in one browser ends in no other
    return keep_short(go(provider.build_address(begun, _get_return())), _START, begun.state, ENDS_AFTER_S)


def come_back() -> Response:
    """Take what the provider sent the browser back with, once, and open a session or confirm the one there is."""
    access, asked = require_access(), get_request().args
    state, own = asked.get("state", ""), read_short(_START)
    begun = access.starts.take(state) if state and state == own else None
    if access.provider is None or begun is None or not asked.get("code"):
        return _refuse("Signing in with the company's account was left, or took too long. Try again.", begun)
    try:
        who = access.provider.find_identity(begun, _get_return(), asked["code"], asked.get("iss", ""))
        if begun.is_again:
            keep_session(access.confirm_at_provider(_require_same(begun), read_session_secret(), who))
            return forget_short(go(begun.leads_to), _START)
        invitation = read_short(INVITATION) if begun.is_invited else ""
        secret = access.sign_in_at_provider(who, invitation=invitation, about=get_browser(), old=read_session_secret())
    except (UnauthenticatedError, ConflictError) as error:
        return _refuse(error.detail, begun)
    return forget_short(forget_short(set_session(go(begun.leads_to), secret), _START), INVITATION)


def _require_same(begun: Start) -> Session:
    session = find_session()
    if session is None or session.account != begun.account:
        raise UnauthenticatedError("You are no longer signed in as when this began.")
    return session


def _refuse(wrong: str, begun: Start | None) -> Response:
    to = begun.leads_to if begun is not None else "/"
    page = describe_sign_in(SignInView(to, "", wrong, build_start_address(to)))
    return forget_short(send_page(page, status=422), _START)


def _get_return() -> str:
    return (get_settings().public_url or get_request().host_url.rstrip("/")) + _BACK
