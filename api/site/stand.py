"""Where someone stands: /me, where one chooses as whom one looks, and the page of each person."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from flask import Blueprint, Response, redirect

from api.desk.question import COMPANY, PERSON, Subject
from api.http.actors import get_actor, look_as
from api.http.context import get_desk, get_request
from api.pages.addresses import build_record_address
from api.pages.look_as import build_view as build_look
from api.pages.look_as import describe_look
from api.pages.where_i_stand import build_view, describe_stand
from api.questions import load_question
from api.site.computing import ask_if_quick
from api.site.noticed import add_findings
from api.site.question_pages import ask_for_page
from api.site.records import show_record
from api.site.sending import find_unchanged, send_page
from ontology.analysis.routes.moves import LEVEL_LIMIT, PREPARATION_LIMIT
from ontology.errors import ForbiddenError

__all__ = ["build_blueprint", "find_by_words", "go"]

RECORDS: Final = ("people",)
#: How far ahead the days that come are looked for, besides what ends.
AHEAD: Final = 90
_MOST_FOUND: Final = 1000


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("stand", __name__)
    blueprint.add_url_rule("/me", "me", show_me)
    blueprint.add_url_rule("/me", "look", change_look, methods=["POST"])
    blueprint.add_url_rule("/people/<id>", "person", show_person)
    return blueprint


def show_me() -> Response:
    """Lead to the page of whom one looks as; where that is nobody, or another is wanted, let one choose."""
    actor, asked = get_actor(), get_request().args
    if actor.person and not asked.get("show") and not asked.get("q"):
        on = f"?on={asked['on']}" if asked.get("on") else ""
        return go(build_record_address("people", actor.person) + on)
    if not actor.is_owner:
        raise ForbiddenError("This account is nobody's in particular; an administrator ties it to a person.")
    return _show_choice(asked.get("q", "").strip())


def change_look() -> Response:
    """Keep as whom one looks from now on, or stop looking as anybody."""
    if not get_actor().is_owner:
        raise ForbiddenError("Who signed in looks as themselves.")
    person = get_request().form.get("person", "")
    if person and person not in get_desk().get_state().snapshot.people:
        return _show_choice("", wrong="There is no such person.", status=422)
    return look_as(go(build_record_address("people", person) if person else "/me"), person)


def show_person(id: str) -> Response:
    """Show where a person stands; where to from here only to themselves."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk, actor = get_desk(), get_actor()
    if not desk.may_ask(actor, desk.get_state(), load_question("levels"), Subject(PERSON, id)):
        return show_record("people", id)
    levels = ask_for_page(load_question("levels"), PERSON, id)
    if isinstance(levels, Response):
        return levels
    enquiry = levels.enquiry
    state, subject, on = enquiry.state, enquiry.subject, enquiry.asked.on
    agenda = load_question("person-agenda")
    coming = desk.ask(actor, state, agenda, subject, agenda.asks[PERSON](on=on, days=AHEAD))
    is_self, reach = actor.person == id, None
    if is_self:
        roles = load_question("reachable-roles")
        reach = ask_if_quick(desk.receive(actor, state, roles, subject, roles.asks[PERSON](on=on)))
    limits = (PREPARATION_LIMIT, LEVEL_LIMIT)
    near = None if reach is None else reach.result
    view = build_view(levels.result, coming.result, near, limits, state.snapshot, is_self=is_self)
    page = add_findings(describe_stand(view, levels, is_self=is_self), "people", id)
    return send_page(page, is_tagged=not is_self or (reach is not None and reach.is_final))


def find_by_words(table: str, words: str) -> Collection[str]:
    """Return the ids of a table's records in whose names the words stand."""
    desk, question = get_desk(), load_question("find")
    asked = question.asks[COMPANY](text=words, limit=_MOST_FOUND)
    answer = desk.ask(get_actor(), desk.get_state(), question, Subject(COMPANY), asked)
    kind = {"people": "person", "roles": "role"}[table]
    return {match.id for match in answer.result.matches if match.kind == kind}


def _show_choice(words: str, *, wrong: str = "", status: int = 200) -> Response:
    found = find_by_words("people", words) if words else None
    view = build_look(get_desk().get_state().snapshot, get_actor(), q=words, found=found, wrong=wrong)
    return send_page(describe_look(view), status=status)


def go(address: str) -> Response:
    """Lead to another address of ours after something was done."""
    response = redirect(address, 303)
    response.headers["Cache-Control"] = "private, no-store"
    return Response(response.get_data(), 303, response.headers)
