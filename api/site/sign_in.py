"""Signing in by a name and a password, and signing out."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.errors import ThrottledError, UnauthenticatedError, get_kind
from api.http.access_context import clear_session, read_session_secret, require_access, set_session
from api.http.context import get_request
from api.http.own_paths import find_own_path
from api.http.signed_in import find_session, get_browser, get_network_address, require_account, require_session
from api.pages.sign_in import SignInView, describe_sign_in, describe_sign_out
from api.site.provider import build_start_address
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import NewelError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_SIGNED_OUT: Final = "signed-out"


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("sign_in", __name__)
    blueprint.add_url_rule("/sign-in", "show", show_sign_in)
    blueprint.add_url_rule("/sign-in", "sign_in", sign_in, methods=["POST"])
    blueprint.add_url_rule("/sign-out", "show_out", show_sign_out)
    blueprint.add_url_rule("/sign-out", "sign_out", sign_out, methods=["POST"])
    return blueprint


def show_sign_in() -> Response:
    """Show the form; who has signed in already is led on."""
    asked = get_request().args
    to = find_own_path(asked.get("to", ""))
    if find_session() is not None:
        return go(to)
    told = "You have signed out." if _SIGNED_OUT in asked else ""
    return send_page(describe_sign_in(SignInView(to, provider=build_start_address(to), told=told)))


def sign_in() -> Response:
    """Open a session, or say in the same words, whatever it is, that name or password is wrong."""
    form = get_request().form
    name, to = form.get("name", ""), find_own_path(form.get("to", ""))
    try:
        secret = require_access().sign_in(
            name,
            form.get("password", ""),
            address=get_network_address(),
            about=get_browser(),
            old=read_session_secret(),
        )
    except UnauthenticatedError as error:
        return _refuse(SignInView(to, name, error.detail, build_start_address(to)), 422)
    except ThrottledError as error:
        return _refuse(SignInView(to, name, error.detail, build_start_address(to)), get_kind(error).status, error)
    return set_session(go(to), secret)


def _refuse(view: SignInView, status: int, error: NewelError | None = None) -> Response:
    response = send_page(describe_sign_in(view), status=status)
    if isinstance(error, ThrottledError):
        response.headers["Retry-After"] = str(error.retry_after_s)
    return response


def show_sign_out() -> Response:
    """Show the button to sign out by."""
    return send_page(describe_sign_out(require_account().name))


def sign_out() -> Response:
    """End the session, and have the browser forget what it kept."""
    require_access().sign_out(require_session(), read_session_secret())
    return clear_session(go(f"/sign-in?{_SIGNED_OUT}"))
