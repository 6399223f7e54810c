"""REST from questions: an address for each subject a question can be asked of, in every form it can be had. Flask."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Final

from flask import Response

from api.desk.answer import require_people
from api.desk.desk import Desk, Enquiry
from api.desk.parameters import Asks
from api.desk.question import COMPANY, DRAFT, Question, Subject, SubjectKind
from api.http.actors import get_actor
from api.http.answer_schemas import build_answer_schema
from api.http.arguments import LONGEST_KEPT, read_query
from api.http.context import QUESTIONS, RequestDesk, get_desk, get_request
from api.http.forms import build_form
from api.http.negotiation import DIAGRAM_FORMS, SHEET_FORMS, choose_form
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.parameter_schemas import build_parameters_schema
from api.http.responses import PRIVATE_RULES, SHARED_RULES, Rules, respond_with_tag
from api.questions import list_questions
from api.settings import Settings

#: Forms that programs ask for, and the pictures of pages: kept, and looked at again by their tag each time.
_FOR_PROGRAMS: Final = ("json", *DIAGRAM_FORMS)
_ABOUT: Final = {
    SubjectKind.PERSON: "Where a person stands and what leads on.",
    SubjectKind.ROLE: "How roles hang together.",
    SubjectKind.TEAM: "What a team can do, what breaks, and what to do about it.",
    SubjectKind.PLACE: "Who stood at a place, and what was known of them.",
    SubjectKind.COMPETENCY: "What a competency takes part in.",
    SubjectKind.COURSE: "Who needs a course, and by when.",
    SubjectKind.SESSION: "Who has a seat in a session, and who waits for one.",
    SubjectKind.DRAFT: "What a draft would do.",
    SubjectKind.COMPANY: "All teams, and the framework as a whole.",
}


def build_question_blueprints(settings: Settings) -> list[DescribedBlueprint]:
    """Return one blueprint for each kind of subject, with the questions that can be asked of it."""
    blueprints = {}
    for kind, about in _ABOUT.items():
        blueprints[kind] = DescribedBlueprint(f"{QUESTIONS}{kind.value or 'the company'}", about)
    for question in list_questions():
        for kind, asks in question.asks.items():
            _add_question(blueprints[kind], question, kind, asks, settings)
    return list(blueprints.values())


def _add_question(
    blueprint: DescribedBlueprint, question: Question, kind: SubjectKind, asks: type[Asks], settings: Settings
) -> None:
    errors = [406, 422] if kind is COMPANY else [404, 406, 422]
    view = describe(
        question.title,
        returns=build_answer_schema(question),
        media_types=tuple(get_forms(question).values()),
        query=build_parameters_schema(asks, settings),
        headers=("ETag",),
        request_headers=("If-None-Match",),
        errors=[*errors, 503] if question.is_slow else errors,
    )(_build_view(question, kind))
    parameters = [] if kind is COMPANY else [describe_part(f"Id of a {kind.word}.")]
    add_route(blueprint, question.get_path(kind, "<id>"), {"GET": view}, question.name, parameters)


def get_cache_rules(question: Question, form: str) -> Rules:
    """Return what caches are told of an answer in a form.

    What belongs to one person stays in no cache in any form; nor does a page or file about people, which another
    reader of the same machine could leaf back to.
    """
    if question.is_private or (question.is_about_people and form not in _FOR_PROGRAMS):
        return PRIVATE_RULES
    return SHARED_RULES


def get_forms(question: Question) -> dict[str, str]:
    """Return the forms an answer can be had in, the first where the caller takes anything."""
    own = {name: form.media_type for name, form in question.files.items()}
    return dict(SHEET_FORMS) | own


def _receive(desk: RequestDesk, question: Question, kind: SubjectKind, subject_id: str) -> Enquiry:
    """Return the question of this request, checked: first whether there is such a subject, then what is asked."""
    request, actor, state = get_request(), get_actor(), desk.get_state()

    def receive() -> Enquiry:
        subject = Subject(kind, subject_id)
        desk.require_subject(state, subject)
        return desk.receive(actor, state, question, subject, read_query(question.asks[kind], request))

    query = request.query_string
    if len(query) > LONGEST_KEPT or kind is DRAFT:
        return receive()
    return desk.sights.receive(actor, state, (question.name, kind.value, subject_id, query), receive)


def _build_view(question: Question, kind: SubjectKind) -> Callable[..., Response]:
    forms = get_forms(question)

    def view(id: str = "") -> Response:
        form = choose_form(get_request(), forms)
        desk = get_desk()
        return respond(desk, _receive(desk, question, kind, id), form)

    return view


def respond(desk: Desk, enquiry: Enquiry, form: str) -> Response:
    """Return the response that holds an answer in a form, or 304 where the caller has it already."""
    question = enquiry.question
    if form in question.files:
        require_people(enquiry)
    media_type = SHEET_FORMS.get(form) or get_forms(question)[form]
    tag = desk.get_tag(enquiry, media_type)

    def write() -> bytes:
        return desk.write_json(enquiry, tag) if form == "json" else build_form(desk.answer(enquiry), form)

    response = respond_with_tag(tag, write, media_type, is_weak=True, rules=get_cache_rules(question, form))
    if form not in ("json", "html") and response.status_code != HTTPStatus.NOT_MODIFIED:
        name = f"{question.name}.{form}"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
