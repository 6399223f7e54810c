"""Invitations: the link leads to an address without the secret, where the password is set, once."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

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
from api.http.signed_in import get_browser
from api.pages.sign_in import InvitationView, describe_invitation
from api.site.provider import build_start_address
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import InputError, NotFoundError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_AN_HOUR_S: Final = 3600
#: Characters that can be a secret; no browser keeps a cookie of any length.
_LONGEST: Final = 100


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("invitations", __name__)
    blueprint.add_url_rule("/invitations/<secret>", "open", open_invitation)
    blueprint.add_url_rule("/invitations", "show", show_invitation)
    blueprint.add_url_rule("/invitations", "redeem", redeem, methods=["POST"])
    return blueprint


def open_invitation(secret: str) -> Response:
    """Take the secret out of the address, so that it stays in no history and no log (ASVS V6.4.1)."""
    return keep_short(go("/invitations"), INVITATION, secret[:_LONGEST], _AN_HOUR_S)


def show_invitation() -> Response:
    """Show whom it is for and the form; what holds no longer is told without saying whose it was."""
    return _show()


def redeem() -> Response:
    """Set the password and sign in with it; a password that is not good enough leaves the invitation as it was."""
    access, secret = require_access(), read_short(INVITATION)
    try:
        account = access.invitations.redeem(
            secret, get_request().form.get("password", ""), words=(get_settings().company,)
        )
    except NotFoundError:
        return _show()
    except InputError as error:
        return _show(error.detail)
    opened = access.open_session(account, about=get_browser(), old=read_session_secret())
    return forget_short(set_session(go("/"), opened), INVITATION)


def _show(wrong: str = "") -> Response:
    access = require_access()
    number = access.invitations.find(read_short(INVITATION))
    if number is None:
        return send_page(describe_invitation(InvitationView("")), status=404)
    view = InvitationView(access.accounts.get(number).name, wrong, build_start_address("/", is_invited=True))
    return send_page(describe_invitation(view), status=422 if wrong else 200)
