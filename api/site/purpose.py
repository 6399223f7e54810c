"""The purpose of an architect: stated with the password, for a team or a person, and ended."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from flask import Blueprint, Response

from api.access.access import Access
from api.access.actor import Role
from api.desk.names import Names
from api.desk.naming import get_id, list_called
from api.http.access_context import require_access
from api.http.actors import get_actor, note_look
from api.http.context import get_desk, get_request
from api.http.signed_in import require_account
from api.pages.purpose import PurposeView, describe_purpose
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.analysis.profiles.belonging import get_person_on
from ontology.errors import ForbiddenError, InputError, UnknownIdError

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
    view = PurposeView(access.purposes.reasons, typed["reason"], typed["words"], typed["team"], typed["person"])
    try:
        access.purposes.check(**typed)  # whoever says what for is told whom a name means, and nobody else
        called = _list_called(typed["person"])
        if len(called) > 1:
            note_look(get_actor(), "people", frozenset(one for one, _ in called))
            wrong = f"{len(called)} people are called {typed['person']}. Choose whom you mean."
            return send_page(describe_purpose(replace(view, wrong=wrong, called=called)), status=422)
        team = get_id(get_desk().get_state().snapshot, "teams", typed["team"]) if typed["team"] else ""
        about = {"team": team, "person": "".join(one for one, _ in called)}
        access.purposes.state(require_account().number, **(typed | about))
    except (InputError, UnknownIdError) as error:
        return send_page(describe_purpose(replace(view, wrong=error.detail)), status=422)
    return go("/account?done=purpose")


def end_purposes() -> Response:
    """End every purpose of one's own."""
    require_access().purposes.end(require_account().number)
    return go("/account?done=purposes")


def _require_architect() -> Access:
    if all(grant.role is not Role.ARCHITECT for grant in require_account().grants):
        raise ForbiddenError("Only an architect states purposes.")
    return require_access()


def _list_called(text: str) -> tuple[tuple[str, str], ...]:
    """Return whom an id or a whole name means, with what tells them apart: id and team; InputError where nobody.

    Of all there are: whoever may state a purpose may then see whom it is about. A name that is not whole finds nobody.
    """
    if not text:
        return ()
    state = get_desk().get_state()
    whole = state.get_whole()
    called = list_called(whole, "people", text)
    if not called:
        raise InputError("There is nobody of this name or id. Write the whole name.", parameter="person")
    names, teams = Names(whole), ((one, get_person_on(whole, one, state.today).team) for one in called)
    return tuple((one, f"{one}, {names.get('teams', team)}" if team else one) for one, team in teams)
