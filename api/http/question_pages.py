"""The page of every question: at the address of its answer without /api. Imports Flask."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, Response
from werkzeug.datastructures import MultiDict

from api.desk.question import Question, Subject, SubjectKind
from api.desk.rights import LOCAL_OWNER
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.http.questions import respond
from api.questions import list_questions

__all__ = ["build_question_pages"]


def build_question_pages() -> Blueprint:
    """Return the blueprint of the pages of all questions."""
    blueprint = Blueprint("answers", __name__)
    for question in list_questions():
        for kind in question.asks:
            endpoint = f"{kind.value or 'company'}-{question.name}"
            blueprint.add_url_rule(question.get_path(kind, "<id>"), endpoint, _build_view(question, kind))
    return blueprint


def _build_view(question: Question, kind: SubjectKind) -> Callable[..., Response]:
    def view(id: str = "") -> Response:
        desk = get_desk()
        state = desk.get_state()
        subject = Subject(kind, id)
        desk.require_subject(state, subject)
        # a form sends every field; an empty one asks for nothing
        filled = MultiDict([(name, text) for name, text in get_request().args.items(multi=True) if text])
        asked = read_asked(question.asks[kind], filled)
        return respond(desk, desk.receive(LOCAL_OWNER, state, question, subject, asked), "html")

    return view
