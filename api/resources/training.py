"""Answers about cross-training: the plan, and the training timetable chart. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api import services
from api.context import get_slow_gate
from api.diagrams.training_chart import build_training_chart_picture
from api.errors import ParameterError, WrongParameter
from api.etags import build_not_modified, is_unchanged
from api.negotiation import PLAN_FORMS, choose_form
from api.openapi import View, add_route, build_blueprint, describe
from api.resources.asking import ID_PARAMETER, require_known_people
from api.resources.diagrams import describe_picture, respond_with_picture
from api.resources.teams import ask_about_team
from api.responses import add_cache_rules, compute_answer_etag, respond_with_answer
from api.schemas.training_answers import CrossTraining, TrainingTimetable
from api.schemas.training_parameters import (
    CrossTrainingParameters,
    TrainingTimetableDiagramParameters,
    TrainingTimetableParameters,
)
from ontology.graph.snapshot import Snapshot

_ERRORS_WHEN_SLOW = (404, 406, 422, 503)


def build_training_blueprint() -> Any:
    """Return the blueprint of answers about cross-training."""
    blueprint = build_blueprint("answers about training", "Whom to cross-train, and until when.")
    views: dict[str, View] = {
        "cross-training": show_cross_training,
        "training-timetable": show_training_timetable,
        "training-timetable/diagram": show_training_timetable_diagram,
    }
    for part, view in views.items():
        add_route(blueprint, f"/teams/<id>/{part}", {"GET": view}, part.replace("/", "-"), [ID_PARAMETER])
    return blueprint


@describe(
    "Who should learn what so that every need reaches its target and every slot is filled",
    returns=CrossTraining,
    query=CrossTrainingParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_cross_training(id: str) -> Response:
    """Show the plan."""
    snapshot, asked = ask_about_team(id, CrossTrainingParameters)
    question = read_plan_question(snapshot, asked)
    return respond_with_answer(lambda: services.get_cross_training(snapshot, id, **question), is_slow=True)


@describe(
    "Chart of who holds what, and who is to hold it until when",
    returns=TrainingTimetable,
    media_types=tuple(PLAN_FORMS.values()),
    query=TrainingTimetableParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
    description="As JSON, as a calendar file (RFC 5545) or as a workbook; as a page to print below /teams, as a "
    "picture below /diagram.",
)
def show_training_timetable(id: str) -> Response:
    """Show the chart in the form asked for."""
    snapshot, asked = ask_about_team(id, TrainingTimetableParameters)
    question = read_plan_question(snapshot, asked)
    form = choose_form(request, PLAN_FORMS)
    if form == "json":
        return respond_with_answer(lambda: services.get_training_timetable(snapshot, id, **question), is_slow=True)
    etag = compute_answer_etag(PLAN_FORMS[form])
    if is_unchanged(request, etag):
        return add_cache_rules(build_not_modified(etag, is_weak=True))
    with get_slow_gate().enter():
        plan, chart, effect = services.find_training_chart(snapshot, id, **question)
    if form == "ics":
        content, charset = services.build_training_calendar(snapshot, plan), "; charset=utf-8"
    else:
        content, charset = services.build_training_workbook(snapshot, plan, chart, effect), ""
    response = Response(content, content_type=PLAN_FORMS[form] + charset)
    response.headers["Content-Disposition"] = f'attachment; filename="training-timetable.{form}"'
    response.set_etag(etag, weak=True)
    return add_cache_rules(response)


@describe_picture(
    "Chart of who holds what, and who is to hold it until when",
    query=TrainingTimetableDiagramParameters,
)
def show_training_timetable_diagram(id: str) -> Response:
    """Draw the chart as a table."""
    snapshot, asked = ask_about_team(id, TrainingTimetableDiagramParameters)
    layout, page = asked.pop("layout"), asked.pop("page")
    question = read_plan_question(snapshot, asked)

    def draw() -> str:
        plan, chart, _ = services.find_training_chart(snapshot, id, **question)
        return build_training_chart_picture(
            snapshot,
            plan,
            chart,
            words=services.describe_cell,
            row_words=services.describe_row,
            layout=layout,
            page=page,
        ).dot

    return respond_with_picture(draw, is_slow=True)


def read_plan_question(snapshot: Snapshot, asked: dict[str, Any]) -> dict[str, Any]:
    """Return the parameters of a plan as the service takes them.

    Raises
    ------
    ParameterError
        An id is not known, or `by` lies before `on`.
    """
    require_known_people(snapshot, "exclude_people", asked["exclude_people"])
    for name, known, table in (
        ("exclude_courses", snapshot.courses, "courses"),
        ("lending_teams", snapshot.teams, "teams"),
    ):
        wrong = [
            WrongParameter(name, id, f"must be ids of {table}; this one does not exist")
            for id in sorted(asked[name])
            if id not in known
        ]
        if wrong:
            raise ParameterError(*wrong)
    by = asked.get("by")
    if by is not None and by < asked["on"]:
        raise ParameterError(WrongParameter("by", by.isoformat(), f"must not be before {asked['on']}"))
    question = {name: value for name, value in asked.items() if name != "time_limit"}
    return question | {"time_limit_s": asked["time_limit"]}
