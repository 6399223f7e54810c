"""The purpose of an architect: stated with the password, for a team or a person, and ended. Imports Flask."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.access.access import Access
from api.access.actor import Role
from api.http.access_context import require_access
from api.http.context import get_desk, get_request
from api.http.signed_in import require_account
from api.pages.purpose import PurposeView, describe_purpose
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import ForbiddenError, InputError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("purpose", __name__)
    blueprint.add_url_rule("/account/purpose", "show", show_purpose)
    blueprint.add_url_rule("/account/purpose", "state", state_purpose, methods=["POST"])
    blueprint.add_url_rule("/account/purpose/end", "end", end_purposes, methods=["POST"])
    return blueprint


def show_purpose() -> Response:
    """Show the form; a team or a person may stand in the address."""
    access, asked = _require_architect(), get_request().args
    view = PurposeView(access.purposes.reasons, team=asked.get("team", ""), person=asked.get("person", ""))
    return require_confirmed() or send_page(describe_purpose(view))


def state_purpose() -> Response:
    """State a purpose, from now on."""
    access = _require_architect()
    asked = require_confirmed()
    if asked is not None:
        return asked
    form = get_request().form
    typed = {name: form.get(name, "").strip() for name in ("reason", "words", "team", "person")}
    try:
        _require_known(typed["team"], typed["person"])
        access.purposes.state(require_account().number, **typed)
    except InputError as error:
        return send_page(
            describe_purpose(PurposeView(access.purposes.reasons, **typed, wrong=error.detail)), status=422
        )
    return go("/account?done=purpose")


def end_purposes() -> Response:
    """End every purpose of one's own."""
    require_access().purposes.end(require_account().number)
    return go("/account?done=purposes")


def _require_architect() -> Access:
    if all(grant.role is not Role.ARCHITECT for grant in require_account().grants):
        raise ForbiddenError("Only an architect states purposes.")
    return require_access()


def _require_known(team: str, person: str) -> None:
    # whoever may state one may then see whom it is about: it is no secret here who there is
    snapshot = get_desk().get_state().get_whole()
    if team and team not in snapshot.teams:
        raise InputError("There is no such team.", parameter="team")
    if person and person not in snapshot.people:
        raise InputError("There is no such person.", parameter="person")
