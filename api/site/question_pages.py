"""The page of every question, made from its sheet: at the address of its answer without /api."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection

from flask import Blueprint, Response
from werkzeug.datastructures import MultiDict

from api.desk.desk import Answer, Enquiry
from api.desk.names import Names
from api.desk.naming import take_ids
from api.desk.parameters import Asks, list_parameters
from api.desk.question import Question, Subject, SubjectKind
from api.desk.states import READ_ASIDE
from api.errors import ParameterError, WrongParameter
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.pages.ask_again import describe_asking
from api.pages.smaller import list_smaller
from api.pages.writing import describe_answer
from api.questions import list_questions
from api.site.computing import ask_or_compute
from api.site.drawing import draw_answer
from api.site.registry import list_designed_pages
from api.site.sending import find_unchanged, send_page
from ontology.errors import InputError

__all__ = ["ask_again", "ask_for_page", "build_blueprint", "read_filled", "receive"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages of all questions that have no designed one."""
    blueprint = Blueprint("answers", __name__)
    designed = list_designed_pages()
    for question in list_questions():
        for kind in question.asks:
            if (kind.value, question.name) not in designed:
                endpoint = f"{kind.value or 'company'}-{question.name}"
                blueprint.add_url_rule(question.get_path(kind, "<id>"), endpoint, _build_view(question, kind))
    return blueprint


def receive(question: Question, kind: SubjectKind, subject_id: str, *, but: Collection[str] = ()) -> Enquiry:
    """Return the question that the address of this request asks of a subject, checked.

    `but` names what is said to the page and not to the question.

    Raises
    ------
    UnknownIdError
        There is no such subject.
    ParameterError
        Something asked is wrong.
    """
    desk = get_desk()
    state = desk.get_state()
    subject = Subject(kind, subject_id)
    desk.require_subject(state, subject)
    asks = question.asks[kind]
    return desk.receive(get_actor(), state, question, subject, read_asked(asks, read_filled(asks, but)))


def ask_for_page(
    question: Question, kind: SubjectKind, subject_id: str, *, but: Collection[str] = ()
) -> Answer | Response:
    """Return the answer that the address of this request asks for; or its form, where something asked is wrong.

    Raises
    ------
    UnknownIdError
        There is no such subject.
    """
    try:
        return ask_or_compute(receive(question, kind, subject_id, but=but))
    except InputError as error:
        return ask_again(question, Subject(kind, subject_id), _find_wrong(error))


def ask_again(question: Question, subject: Subject, error: ParameterError) -> Response:
    """Return the question's form with what was given, and what is wrong with it at its field."""
    given = {name: text for name, text in get_request().args.items() if text and name not in READ_ASIDE}
    page = describe_asking(get_desk().get_state().snapshot, question, subject, given, error.wrong)
    return send_page(page, status=422 if page.values["wrong"] else 200)


def _find_wrong(error: InputError) -> ParameterError:
    """Return which parameter is wrong, where an analysis says so only once it was asked.

    Raises
    ------
    InputError
        It names none of them.
    """
    if isinstance(error, ParameterError):
        return error
    if "parameter" not in error.context:
        raise error
    value = error.context.get("value")
    told = Names(get_desk().get_state().snapshot).put_in(error.detail)
    return ParameterError(WrongParameter(error.context["parameter"], None if value is None else str(value), told))


def read_filled(asks: type[Asks], but: Collection[str] = ()) -> MultiDict[str, str]:
    """Return what the form of this request asks, with ids in place of names.

    Empty fields ask for nothing, and boxes of one name are what is ticked of a list; `but` is no part of the question.
    """
    lists = {parameter.name for parameter in list_parameters(asks) if parameter.kind.name in ("ids", "pairs", "dates")}
    filled: list[tuple[str, str]] = []
    for name, texts in get_request().args.lists():
        given = [text for text in texts if text and name not in but]
        filled += [(name, ",".join(given))] if name in lists and given else [(name, text) for text in given]
    if len(dict(filled)) == len(filled):  # what is given twice is refused as it stands
        filled = list(take_ids(get_desk().get_state().snapshot, asks, dict(filled)).items())
    return MultiDict(filled)


def _build_view(question: Question, kind: SubjectKind) -> Callable[..., Response]:
    def view(id: str = "") -> Response:
        unchanged = find_unchanged(is_private=question.is_about_people)
        if unchanged is not None:
            return unchanged
        answer = ask_for_page(question, kind, id)
        if isinstance(answer, Response):
            return answer
        page = describe_answer(answer, figure=draw_answer(answer, "The answer as a picture."))
        if answer.is_final:
            return send_page(page, is_tagged=True)
        smaller = list_smaller(answer.enquiry, get_desk().settings.time_limit_max_s)
        return send_page(dataclasses.replace(page, values={**page.values, "smaller": smaller}))

    return view
