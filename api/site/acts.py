"""Carrying an answer out from its page: seats booked, a plan agreed. The very answer seen, or nothing. Flask."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus

from flask import Blueprint, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.question import Question, SubjectKind
from api.desk.sheet import Next
from api.errors import ParameterError, WrongParameter
from api.http.actors import get_who
from api.http.context import get_desk, get_request
from api.pages.addresses import build_address
from api.questions import list_questions, load_question
from api.site.computing import ask_or_compute
from api.site.question_pages import receive
from ontology.errors import StaleError

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the forms that carry answers out, at the addresses of their pages."""
    blueprint = Blueprint("acts", __name__)
    for question in list_questions():
        if not question.acts:
            continue
        for kind in question.asks:
            endpoint = f"{kind.value or 'company'}-{question.name}"
            blueprint.add_url_rule(
                question.get_path(kind, "<id>"), endpoint, _build_view(question, kind), methods=["POST"]
            )
    return blueprint


def _build_view(question: Question, kind: SubjectKind) -> Callable[..., PlainResponse]:
    def view(id: str = "") -> PlainResponse:
        form = get_request().form.to_dict()
        act = question.acts.get(form.pop("act", ""))
        if act is None:
            known = f"must be one of {', '.join(question.acts)}"
            raise ParameterError(WrongParameter("act", get_request().form.get("act"), known))
        seen = form.pop("revision", "")
        unknown = [
            WrongParameter(name, text, "is not known here") for name, text in form.items() if name not in act.says
        ]
        if unknown:
            raise ParameterError(*unknown)
        enquiry = receive(question, kind, id)
        if seen != str(enquiry.state.snapshot.revision):
            raise StaleError("The data have changed since this answer was made: nothing is stored. Look at it again.")
        answer = ask_or_compute(enquiry)
        get_desk().carry_out(answer, act, {name: text.strip() for name, text in form.items()}, who=get_who())
        return _lead_on(act.leads_to(answer))

    return view


def _lead_on(to: Next) -> PlainResponse:
    """Return where one sees what was done."""
    question = load_question(to.question)
    subject_kind = next(iter(question.asks))
    address = build_address(subject_kind.value, to.subject, question.segment, to.asked)
    return redirect(address, HTTPStatus.SEE_OTHER)
