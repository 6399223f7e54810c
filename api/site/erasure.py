"""Erasing a person through the server: first what would go, then the password again, then it is done."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.access.actor import Role
from api.access.erasing import erase, plan_erasure
from api.access.erasure import Erasure
from api.http.access_context import require_access
from api.http.actors import get_who
from api.http.context import get_desk, get_request, get_settings
from api.http.load_desk import get_load_desk
from api.http.signed_in import require_account
from api.pages.erasure import (
    ErasureView,
    build_done,
    build_plan,
    build_waiting,
    describe_confirmation,
    describe_erasure,
)
from api.site.computing import get_computations
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import ConflictError, ForbiddenError, NotFoundError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_FIRST: Final = "Nothing is erased before you have seen what would go."
_ASKED: Final = "It waits for somebody else to confirm it: until then nothing is erased."


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("erasure", __name__)
    blueprint.add_url_rule("/accounts/erasure", "show", show_erasure)
    blueprint.add_url_rule("/accounts/erasure", "erase", erase_person, methods=["POST"])
    blueprint.add_url_rule("/accounts/erasure/withdraw", "withdraw", withdraw, methods=["POST"])
    blueprint.add_url_rule("/account/erasures", "show_asked", show_asked)
    blueprint.add_url_rule("/account/erasures", "confirm", confirm, methods=["POST"])
    return blueprint


def show_erasure() -> Response:
    """Show what would go with a person, or ask which one; after it was done, what is left to do."""
    args, database = get_request().args, require_access().database
    person = args.get("person", "").strip()
    if "done" in args:
        revision = get_desk().graph.get_snapshot().revision
        return send_page(describe_erasure(build_done(revision, Erasure(database).list_copies())))
    if not person:
        waiting = build_waiting(require_access().erasures_asked.list(), is_named=True)
        return send_page(describe_erasure(ErasureView(_ASKED if "asked" in args else _FIRST, waiting=waiting)))
    try:
        plan = plan_erasure(get_desk().graph, database, person)
        return send_page(describe_erasure(build_plan(plan, needs_second=_needs_second())))
    except (NotFoundError, ConflictError) as error:
        return _refuse(person, error.detail)


def erase_person() -> Response:
    """Erase a person; or, where somebody else has to confirm that, have it wait for them."""
    asked = require_confirmed()
    if asked is not None:
        return asked
    person, by = get_request().form.get("person", "").strip(), require_account()
    try:
        if person and person == by.person:
            raise ConflictError("Nobody erases themselves: ask another administrator.")
        if _needs_second():
            plan_erasure(get_desk().graph, require_access().database, person)
            require_access().erasures_asked.ask(person, by.number)
            return go("/accounts/erasure?asked=1")
        _erase(person, by.number)
    except (NotFoundError, ConflictError) as error:
        return _refuse(person, error.detail)
    return go("/accounts/erasure?done=1")


def withdraw() -> Response:
    """Let go of an erasure that waits."""
    require_access().erasures_asked.withdraw(get_request().form.get("person", ""), require_account().number)
    return go("/accounts/erasure")


def show_asked() -> Response:
    """Show how many erasures wait to be confirmed, to who may confirm one."""
    _require_second()
    rows = build_waiting(require_access().erasures_asked.list(), is_named=False)
    return send_page(describe_confirmation(rows, is_done="done" in get_request().args))


def confirm() -> Response:
    """Erase the person whom somebody else asked to be erased, and whose id is said again here."""
    _require_second()
    asked = require_confirmed()
    if asked is not None:
        return asked
    person, by, waiting = get_request().form.get("person", "").strip(), require_account(), require_access()
    try:
        waiting.erasures_asked.require_confirmable(person, by.number, by.person)
        _erase(person, by.number)
    except (NotFoundError, ConflictError) as error:
        rows = build_waiting(waiting.erasures_asked.list(), is_named=False)
        return send_page(describe_confirmation(rows, person, error.detail, is_done=False), status=422)
    return go("/account/erasures?done=1")


def _erase(person: str, by: int) -> None:
    """Erase a person, and let go of all that the server holds in memory or was sent."""
    erase(get_desk().graph, require_access().database, [person], get_who(), by=by)
    get_desk().forget()
    get_computations().forget_all()
    get_load_desk().forget_all()


def _needs_second() -> bool:
    return get_settings().erasure_confirmers > 0


def _require_second() -> None:
    """Raise ForbiddenError for who is neither an administrator nor an architect."""
    if {grant.role for grant in require_account().grants}.isdisjoint({Role.ADMINISTRATOR, Role.ARCHITECT}):
        raise ForbiddenError("Only an administrator or an architect confirms an erasure.")


def _refuse(person: str, wrong: str) -> Response:
    return send_page(describe_erasure(ErasureView(_FIRST, person, wrong=wrong)), status=422)
