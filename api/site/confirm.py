"""The password again, for what weighs more than the rest: rights, tokens, purposes, erasure, whole exports. Flask."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from flask import Blueprint, Response

from api.errors import ThrottledError, UnauthenticatedError, get_kind
from api.http.access_context import get_access, read_session_secret, require_access
from api.http.context import SAFE_METHODS, get_request
from api.http.own_paths import find_own_path
from api.http.signed_in import (
    get_network_address,
    is_confirmed,
    keep_session,
    require_account,
    require_session,
)
from api.pages.confirm import AGAIN, ConfirmView, describe_confirm
from api.site.provider import build_confirm_address
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import NewelError

__all__ = ["build_blueprint", "require_confirmed"]

NEEDS_ACCOUNTS: Final = True


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("confirm", __name__)
    blueprint.add_url_rule("/account/confirm", "show", show_confirm)
    blueprint.add_url_rule("/account/confirm", "confirm", confirm, methods=["POST"])
    return blueprint


def require_confirmed() -> Response | None:
    """Return None where the password was given in the last ten minutes; else what asks for it, to be sent instead.

    A form that was filled in meanwhile goes along: nothing typed is lost. Where there is no sign-in nothing is asked.

    Examples
    --------
    In a view, before anything else::

        asked = require_confirmed()
        if asked is not None:
            return asked
    """
    if get_access() is None or is_confirmed():
        return None
    request = get_request()
    if request.method in SAFE_METHODS:
        return go(f"/account/confirm?to={quote(request.full_path.rstrip('?'), safe='/')}")
    wrong, status = "", 403
    if AGAIN in request.form:
        error = _confirm(request.form[AGAIN])
        if error is None:
            return None
        wrong, status = error.detail, _get_status(error)
    carried = tuple((name, text) for name, text in request.form.items(multi=True) if name != AGAIN)
    return _ask(request.path, "/account", carried, wrong, status)


def show_confirm() -> Response:
    """Ask for the password, and lead on to where one wanted to go."""
    to = find_own_path(get_request().args.get("to", "/account"))
    return go(to) if is_confirmed() else _ask("/account/confirm", to, (("to", to),))


def confirm() -> Response:
    """Take the password and lead on."""
    form = get_request().form
    to = find_own_path(form.get("to", "/account"))
    error = _confirm(form.get(AGAIN, ""))
    if error is None:
        return go(to)
    return _ask("/account/confirm", to, (("to", to),), error.detail, _get_status(error))


def _confirm(password: str) -> NewelError | None:
    session, secret = require_session(), read_session_secret()
    try:
        renewed = require_access().confirm(session, secret, password, address=get_network_address())
    except (UnauthenticatedError, ThrottledError) as error:
        return error
    keep_session(renewed)
    return None


def _get_status(error: NewelError) -> int:
    return get_kind(error).status if isinstance(error, ThrottledError) else 422


def _ask(action: str, to: str, carried: tuple[tuple[str, str], ...], wrong: str = "", status: int = 200) -> Response:
    account = require_account()
    provider = build_confirm_address(to) if account.has_provider else ""
    view = ConfirmView(action, carried, wrong, provider, account.has_password)
    return send_page(describe_confirm(view), status=status)
