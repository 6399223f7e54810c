"""Answers about plans: a learning path as a calendar, of a person or between roles, and its picture. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response, request

from api import services
from api.context import get_slow_gate
from api.diagrams.calendar import build_calendar_picture
from api.diagrams.paging import PageError
from api.errors import ParameterError, WrongParameter
from api.etags import build_not_modified, is_unchanged
from api.negotiation import PLAN_FORMS, choose_form
from api.openapi import View, add_route, build_blueprint
from api.resources.asking import ID_PARAMETER, PathQuestion, ask_from_person, ask_from_role
from api.resources.diagrams import describe_picture, respond_with_picture
from api.resources.paths import ERRORS_WHEN_SLOW, describe_answer, get_path_options
from api.responses import add_cache_rules, compute_answer_etag, respond_with_answer
from api.schemas.plan_answers import DevelopmentPlan, Schedule
from api.schemas.plan_parameters import (
    DevelopmentPlanParameters,
    PersonScheduleDiagramParameters,
    PersonScheduleParameters,
    RoleScheduleDiagramParameters,
    RoleScheduleParameters,
)
from api.services.plans import CalendarWishes
from ontology.graph.snapshot import Snapshot


def build_plans_blueprint() -> Any:
    """Return the blueprint of schedules and development plans."""
    blueprint = build_blueprint("plans", "When to learn what: calendars and development plans.")
    views: dict[str, View] = {
        "/people/<id>/schedule": show_schedule_of_person,
        "/roles/<id>/schedule": show_schedule_of_role,
        "/people/<id>/development-plan": show_development_plan,
        "/people/<id>/schedule/diagram": show_calendar_of_person,
        "/roles/<id>/schedule/diagram": show_calendar_of_role,
    }
    for rule, view in views.items():
        name = rule.replace("/<id>", "").strip("/").replace("/", "-")
        add_route(blueprint, rule, {"GET": view}, name, [ID_PARAMETER])
    return blueprint


def get_wishes(snapshot: Snapshot, asked: dict[str, Any]) -> CalendarWishes:
    """Return what is asked of a calendar.

    Raises
    ------
    ParameterError
        The plan would start before the day asked about, or what `get_path_options` refuses.
    """
    path_options = get_path_options(snapshot, asked)
    start = asked.get("start")
    if start is not None and start < asked["on"]:
        reason = f"must not be before the day asked about, {asked['on']}"
        raise ParameterError(WrongParameter("start", request.args.get("start"), reason))
    return {
        **path_options,
        "start": start,
        "study_hours_per_week": asked.get("study_hours_per_week"),
        "at_once": asked["at_once"],
        "holidays": asked["holidays"],
    }


@describe_answer(
    "Calendar of a person's learning path to a role",
    returns=Schedule,
    query=PersonScheduleParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_schedule_of_person(id: str) -> Response:
    """Show the courses with their days."""
    return _respond_with_schedule(ask_from_person(id, PersonScheduleParameters))


@describe_answer(
    "Calendar of the learning path from another role to this role",
    returns=Schedule,
    query=RoleScheduleParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_schedule_of_role(id: str) -> Response:
    """Show the courses with their days."""
    return _respond_with_schedule(ask_from_role(id, RoleScheduleParameters))


def _respond_with_schedule(question: PathQuestion) -> Response:
    snapshot, role_id, start, asked = question
    wishes = get_wishes(snapshot, asked)
    return respond_with_answer(
        lambda: services.get_schedule(snapshot, role_id, **start, on=asked["on"], **wishes), is_slow=True
    )


@describe_answer(
    "Development plan of a person for a role",
    returns=DevelopmentPlan,
    media_types=tuple(PLAN_FORMS.values()),
    query=DevelopmentPlanParameters,
    errors=ERRORS_WHEN_SLOW,
    description="As JSON, as a calendar file (RFC 5545) or as a workbook; as a page to print below /people.",
)
def show_development_plan(id: str) -> Response:
    """Show the plan in the form asked for."""
    snapshot, role_id, _, asked = ask_from_person(id, DevelopmentPlanParameters)
    wishes = get_wishes(snapshot, asked)

    def compute() -> dict[str, Any]:
        return services.get_development_plan(
            snapshot, role_id, id, on=asked["on"], with_routes=asked["with_routes"], **wishes
        )

    form = choose_form(request, PLAN_FORMS)
    if form == "json":
        return respond_with_answer(compute, is_slow=True)
    etag = compute_answer_etag(PLAN_FORMS[form])
    if is_unchanged(request, etag):
        return add_cache_rules(build_not_modified(etag, is_weak=True))
    with get_slow_gate().enter():
        plan = compute()
    build = services.build_plan_calendar if form == "ics" else services.build_plan_workbook
    charset = "; charset=utf-8" if form == "ics" else ""
    response = Response(build(snapshot, plan), content_type=PLAN_FORMS[form] + charset)
    response.headers["Content-Disposition"] = f'attachment; filename="development-plan.{form}"'
    response.set_etag(etag, weak=True)
    return add_cache_rules(response)


@describe_picture(
    "A person's calendar",
    query=PersonScheduleDiagramParameters,
)
def show_calendar_of_person(id: str) -> Response:
    """Draw a person's schedule as bars."""
    return _respond_with_calendar(ask_from_person(id, PersonScheduleDiagramParameters))


@describe_picture(
    "Calendar between two roles",
    query=RoleScheduleDiagramParameters,
)
def show_calendar_of_role(id: str) -> Response:
    """Draw the schedule from another role to this one as bars."""
    return _respond_with_calendar(ask_from_role(id, RoleScheduleDiagramParameters))


def _respond_with_calendar(question: PathQuestion) -> Response:
    snapshot, role_id, start, asked = question
    wishes = get_wishes(snapshot, asked)

    def draw() -> str:
        if asked["layout"] == "screen" and asked["page"] != 1:
            raise PageError(asked["page"], 1)
        result = services.find_schedule(snapshot, role_id, **start, on=asked["on"], **wishes)
        profile = services.get_profile(snapshot, start.get("person_id"), start.get("from_role_id"), asked["on"])
        return build_calendar_picture(snapshot, profile, result, layout=asked["layout"], page=asked["page"]).dot

    return respond_with_picture(draw, is_slow=True)
