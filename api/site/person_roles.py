"""Which role a person looks at, and what is missing for it."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from api.desk.question import PERSON, ROLE, Subject
from api.errors import ParameterError, WrongParameter
from api.http.actors import get_actor
from api.http.context import get_desk, get_request
from api.pages.choose_role import SHOWN, describe_choice
from api.pages.choose_role import build_view as build_choice
from api.pages.missing import build_view as build_missing
from api.pages.missing import describe_missing
from api.questions import load_question
from api.site.question_pages import ask_for_page
from api.site.sending import find_unchanged, send_page
from api.site.stand import find_by_words
from ontology.analysis.profiles.belonging import get_person_on

__all__ = ["build_blueprint"]

PAGES: Final = (("people", "gap"),)
_OF_PAGE: Final = ("q", "show")
_MOST_ALIKE: Final = 1000


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("person-roles", __name__)
    blueprint.add_url_rule("/people/<id>/roles", "choose", show_choice)
    blueprint.add_url_rule("/people/<id>/gap", "missing", show_missing)
    return blueprint


def show_choice(id: str) -> Response:
    """Show the roles that a person can look at."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    args, desk, actor = get_request().args, get_desk(), get_actor()
    show, words = args.get("show") or "reach", args.get("q", "").strip()
    if show not in SHOWN:
        raise ParameterError(WrongParameter("show", show, f"must be one of {', '.join(SHOWN)}"))
    answer = ask_for_page(load_question("reachable-roles"), PERSON, id, but=_OF_PAGE)
    if isinstance(answer, Response):
        return answer
    enquiry = answer.enquiry
    own = get_person_on(enquiry.state.snapshot, id, enquiry.asked.on).role
    similar, cautions = None, enquiry.question.cautions
    if own and show == "like":
        question = load_question("similar")
        asked = question.asks[ROLE](limit=_MOST_ALIKE)
        similar = desk.ask(actor, enquiry.state, question, Subject(ROLE, own), asked).result
        cautions = (question.cautions[0], *cautions)
    found = find_by_words("roles", words) if words else None
    view = build_choice(answer.result, similar, answer.names, id, show=show, q=words, found=found, own=own)
    page = describe_choice(view, answer, cautions, is_self=actor.person == id)
    return send_page(page, is_tagged=answer.is_final)


def show_missing(id: str) -> Response:
    """Show what is missing for a role."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk, actor = get_desk(), get_actor()
    answer = ask_for_page(load_question("gap"), PERSON, id)
    if isinstance(answer, Response):
        return answer
    enquiry = answer.enquiry
    question, on = load_question("levels"), enquiry.asked.on
    asked = question.asks[PERSON](on=on, role=answer.result.role)
    levels = desk.ask(actor, enquiry.state, question, enquiry.subject, asked)
    view = build_missing(answer.result, levels.result, enquiry.state.snapshot)
    has_role = get_person_on(enquiry.state.snapshot, id, on).role == answer.result.role
    return send_page(describe_missing(view, answer, is_self=actor.person == id, has_role=has_role), is_tagged=True)
