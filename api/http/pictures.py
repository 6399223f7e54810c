"""Pictures over HTTP: below each answer that has one, and below roles and competencies. SVG, PNG or DOT text. Flask.

What a picture shows is asked at the desk as its answer is; the DOT text can be had where the program dot is missing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Any, Final, Literal, cast

from flask import Response
from marshmallow import Schema
from werkzeug.datastructures import MultiDict

from api.desk.answer import Enquiry, require_people
from api.desk.desk import Desk
from api.desk.parameters import Asks, list_parameters, param
from api.desk.question import COMPANY, COMPETENCY, ROLE, Question, Subject, SubjectKind
from api.desk.text_languages import find_text_languages
from api.errors import ParameterError, WrongParameter
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.http.negotiation import DIAGRAM_FORMS, choose_form
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.parameter_schemas import build_parameters_schema
from api.http.questions import get_cache_rules
from api.http.responses import SHARED_RULES, Rules, respond_with_tag
from api.pictures import pictures
from api.pictures.languages import mark_picture
from api.pictures.paging import PageError
from api.pictures.render import PictureFormat, render
from api.questions import list_questions
from api.settings import Settings


@dataclass(frozen=True, kw_only=True)
class AskPicture(Asks):
    """How a picture is laid out."""

    layout: Literal["screen", "paper"] = param(
        "screen: one picture; paper: A4 pages with their real size, text of 9 points or more.", default="screen"
    )
    page: int = param("Which page, on paper; the picture says how many there are.", default=1, minimum=1, maximum=1000)


_describe: Final = partial(
    describe,
    returns={},
    media_types=tuple(DIAGRAM_FORMS.values()),
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=(404, 406, 422, 503),
)
#: Of the table whose records have a picture of their own: what it shows, and what draws it.
_OF_RECORDS: Final[dict[SubjectKind, tuple[str, Callable[..., str]]]] = {
    ROLE: ("A role's requirements", pictures.draw_role),
    COMPETENCY: ("What is around a competency", pictures.draw_competency),
}


def list_record_pictures() -> tuple[SubjectKind, ...]:
    """Return the kinds of records that have a picture of their own."""
    return tuple(_OF_RECORDS)


def get_record_picture(kind: SubjectKind) -> Callable[..., str]:
    """Return what draws the picture of a record of a kind that has one."""
    return _OF_RECORDS[kind][1]


def build_picture_blueprint(settings: Settings) -> DescribedBlueprint:
    """Return the blueprint of all pictures."""
    blueprint = DescribedBlueprint("pictures", "Pictures of the framework and of answers.")
    for kind, (title, draw) in _OF_RECORDS.items():
        schema = build_parameters_schema(AskPicture, settings)
        view = _describe(title, query=schema)(_build_record_view(kind, draw))
        parameters = [describe_part(f"Id of a {kind.word}.")]
        add_route(blueprint, f"/{kind.value}/<id>/diagram", {"GET": view}, f"{kind.value}-diagram", parameters)
    for question in list_questions():
        if question.draw is None:
            continue
        for kind, asks in question.asks.items():
            view = _describe(f"{question.title}: the picture", query=_build_schema(cast(Any, asks), settings))(
                _build_answer_view(question, kind)
            )
            parameters = [] if kind is COMPANY else [describe_part(f"Id of a {kind.word}.")]
            endpoint = f"{kind.value}-{question.name}-diagram"
            rule = f"{question.get_path(kind, '<id>')}/diagram"
            add_route(blueprint, rule, {"GET": view}, endpoint, parameters)
    return blueprint


@cache
def _build_schema(asks: Any, settings: Settings) -> type[Schema]:
    """Return the parameters of an answer together with those of its picture."""
    own = build_parameters_schema(asks, settings)
    of_picture = build_parameters_schema(AskPicture, settings)
    return cast("type[Schema]", type(f"{asks.__name__}Picture", (own, of_picture), {}))


def _split_arguments() -> tuple[MultiDict[str, str], MultiDict[str, str]]:
    """Return the arguments of this request that are the answer's, and those that are the picture's."""
    own = {parameter.name for parameter in list_parameters(AskPicture)}
    items = list(get_request().args.items(multi=True))
    rest = MultiDict([pair for pair in items if pair[0] not in own])
    return rest, MultiDict([pair for pair in items if pair[0] in own])


def _build_record_view(kind: SubjectKind, draw: Callable[..., str]) -> Callable[..., Response]:
    def view(id: str) -> Response:
        desk = get_desk()
        state = desk.get_state()
        subject = Subject(kind, id)
        desk.require_subject(state, subject)
        asked = read_asked(AskPicture, get_request().args)
        tag = partial(desk.tag_record, state, subject, f"{asked.layout} {asked.page}", get_actor())
        shown = partial(draw, state.snapshot, id, layout=asked.layout, page=asked.page)
        return _respond(tag, shown, lambda _: SHARED_RULES)

    return view


def _build_answer_view(question: Question, kind: SubjectKind) -> Callable[..., Response]:
    def view(id: str = "") -> Response:
        desk = get_desk()
        state = desk.get_state()
        subject = Subject(kind, id)
        desk.require_subject(state, subject)
        of_answer, of_picture = _split_arguments()
        asked = read_asked(question.asks[kind], of_answer)
        picture = read_asked(AskPicture, of_picture)
        enquiry = desk.receive(get_actor(), state, question, subject, asked)
        require_people(enquiry)

        def tag(media_type: str) -> str:
            return desk.get_tag(enquiry, f"{media_type} {picture.layout} {picture.page}")

        draw = partial(_draw_answer, desk, enquiry, picture)
        return _respond(tag, draw, partial(get_cache_rules, question))

    return view


def _draw_answer(desk: Desk, enquiry: Enquiry, picture: AskPicture) -> str:
    about = (enquiry.state.snapshot, enquiry.subject, enquiry.asked, desk.answer(enquiry).result)
    assert enquiry.question.draw is not None, "only questions with a picture have its address"
    return enquiry.question.draw(*about, layout=picture.layout, page=picture.page)


def _respond(tag: Callable[[str], str], draw: Callable[[], str], get_rules: Callable[[str], Rules]) -> Response:
    """Return the response that holds a picture in the form asked for, or 304 where the caller has it already."""
    form = choose_form(get_request(), DIAGRAM_FORMS)

    def write() -> bytes:
        try:
            dot = draw()
        except PageError as error:
            reason = f"must be from 1 to {error.pages}: the picture has no more pages in this layout"
            raise ParameterError(WrongParameter("page", get_request().args.get("page"), reason)) from None
        drawn = render(dot, cast(PictureFormat, form))
        languages = find_text_languages(get_desk().get_state()) if form == "svg" else None
        return mark_picture(drawn.decode(), languages).encode() if languages is not None else drawn

    media_type = DIAGRAM_FORMS[form]
    return respond_with_tag(tag(media_type), write, media_type, is_weak=True, rules=get_rules(form))
