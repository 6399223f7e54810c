"""Erasing a person through the server: first what would go, then the password again, then it is done. Imports Flask."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.access.erasing import erase, plan_erasure
from api.access.erasure import Erasure
from api.http.access_context import require_access
from api.http.actors import get_who
from api.http.context import get_desk, get_request
from api.http.load_desk import get_load_desk
from api.http.signed_in import require_account
from api.pages.erasure import ErasureView, build_done, build_plan, describe_erasure
from api.site.computing import get_computations
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import ConflictError, NotFoundError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_FIRST: Final = "Nothing is erased before you have seen what would go."


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("erasure", __name__)
    blueprint.add_url_rule("/accounts/erasure", "show", show_erasure)
    blueprint.add_url_rule("/accounts/erasure", "erase", erase_person, methods=["POST"])
    return blueprint


def show_erasure() -> Response:
    """Show what would go with a person, or ask which one; after it was done, what is left to do."""
    args, database = get_request().args, require_access().database
    person = args.get("person", "").strip()
    if "done" in args:
        revision = get_desk().graph.get_snapshot().revision
        return send_page(describe_erasure(build_done(revision, Erasure(database).list_copies())))
    if not person:
        return send_page(describe_erasure(ErasureView(_FIRST)))
    try:
        return send_page(describe_erasure(build_plan(plan_erasure(get_desk().graph, database, person))))
    except (NotFoundError, ConflictError) as error:
        return _refuse(person, error.detail)


def erase_person() -> Response:
    """Erase a person, and let go of all that the server holds in memory or was sent."""
    asked = require_confirmed()
    if asked is not None:
        return asked
    person, by = get_request().form.get("person", "").strip(), require_account()
    try:
        if person and person == by.person:
            raise ConflictError("Nobody erases themselves: ask another administrator.")
        erase(get_desk().graph, require_access().database, [person], get_who(), by=by.number)
    except (NotFoundError, ConflictError) as error:
        return _refuse(person, error.detail)
    get_desk().forget()
    get_computations().forget_all()
    get_load_desk().forget_all()
    return go("/accounts/erasure?done=1")


def _refuse(person: str, wrong: str) -> Response:
    return send_page(describe_erasure(ErasureView(_FIRST, person, wrong=wrong)), status=422)
