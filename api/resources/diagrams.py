"""Diagrams below role, competency, learning path, routes and coverage: SVG, PNG or DOT text. Imports Flask.

What the picture shows is computed as its answer is; the DOT text can be had where the program dot is missing.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from functools import partial
from typing import Any

from flask import Response, request

from api import services
from api.context import get_slow_gate, get_snapshot
from api.diagrams import pictures
from api.diagrams.render import PictureFormat, render
from api.errors import ParameterError, WrongParameter
from api.etags import build_not_modified, is_unchanged
from api.negotiation import DIAGRAM_FORMS, DOT, choose_form
from api.openapi import View, add_route, build_blueprint, describe
from api.resources.asking import (
    ID_PARAMETER,
    PathQuestion,
    ask_from_person,
    ask_from_role,
    get_asked,
    require_known_role,
)
from api.resources.paths import get_path_options, get_route_limits
from api.resources.teams import ask_about_team
from api.responses import add_cache_rules, compute_answer_etag
from api.schemas.diagram_parameters import (
    DiagramParameters,
    PersonPathDiagramParameters,
    RolePathDiagramParameters,
    RoutesDiagramParameters,
    TeamDiagramParameters,
)
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.single_points import find_single_points_of_failure

_MEDIA_TYPES = tuple(DIAGRAM_FORMS.values())
describe_picture = partial(
    describe,
    returns={},
    media_types=_MEDIA_TYPES,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=(404, 406, 422, 503),
)


def build_diagram_blueprint() -> Any:
    """Return the blueprint of the diagrams."""
    blueprint = build_blueprint("diagrams", "Pictures of the framework and of answers.")
    views: dict[str, View] = {
        "/roles/<id>/diagram": show_role,
        "/competencies/<id>/diagram": show_competency,
        "/people/<id>/learning-path/diagram": show_path_of_person,
        "/roles/<id>/learning-path/diagram": show_path_of_role,
        "/people/<id>/routes/diagram": show_routes_of_person,
        "/roles/<id>/routes/diagram": show_routes_of_role,
        "/teams/<id>/coverage/diagram": show_coverage,
    }
    for rule, view in views.items():
        add_route(
            blueprint, rule, {"GET": view}, rule.replace("/<id>", "").strip("/").replace("/", "-"), [ID_PARAMETER]
        )
    return blueprint


def respond_with_picture(draw: Callable[[], str], *, is_slow: bool = False) -> Response:
    """Return the response that holds a picture in the form asked for, or 304 where the caller has it already."""
    form = choose_form(request, DIAGRAM_FORMS)
    media_type = DIAGRAM_FORMS[form]
    etag = compute_answer_etag(media_type)
    if is_unchanged(request, etag):
        return add_cache_rules(build_not_modified(etag, is_weak=True))
    fmt: PictureFormat = "svg" if form == "svg" else "png" if form == "png" else "dot"
    content_type = f"{media_type}; charset=utf-8" if media_type == DOT else media_type
    with get_slow_gate().enter() if is_slow else nullcontext():
        try:
            picture = draw()
        except pictures.PageError as error:
            reason = f"must be from 1 to {error.pages}: the picture has no more pages in this layout"
            raise ParameterError(WrongParameter("page", request.args.get("page"), reason)) from None
    response = Response(render(picture, fmt), content_type=content_type)
    response.set_etag(etag, weak=True)
    return add_cache_rules(response)


def _get_layout(asked: dict[str, Any]) -> dict[str, Any]:
    return {"layout": asked["layout"], "page": asked["page"]}


@describe_picture(
    "A role's requirements",
    query=DiagramParameters,
)
def show_role(id: str) -> Response:
    """Draw what a role asks."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(DiagramParameters)
    return respond_with_picture(lambda: pictures.draw_role(snapshot, id, **_get_layout(asked)))


@describe_picture(
    "What is around a competency",
    query=DiagramParameters,
)
def show_competency(id: str) -> Response:
    """Draw a competency with its neighbours."""
    snapshot = get_snapshot()
    snapshot.require_competency(id)
    asked = get_asked(DiagramParameters)
    return respond_with_picture(lambda: pictures.draw_competency(snapshot, id, **_get_layout(asked)))


@describe_picture(
    "A person's learning path",
    query=PersonPathDiagramParameters,
)
def show_path_of_person(id: str) -> Response:
    """Draw a person's learning path."""
    return _respond_with_path(ask_from_person(id, PersonPathDiagramParameters))


@describe_picture(
    "Learning path between two roles",
    query=RolePathDiagramParameters,
)
def show_path_of_role(id: str) -> Response:
    """Draw the learning path from another role to this one."""
    return _respond_with_path(ask_from_role(id, RolePathDiagramParameters))


@describe_picture(
    "A person's routes",
    query=RoutesDiagramParameters,
)
def show_routes_of_person(id: str) -> Response:
    """Draw a person's upskilling routes."""
    get_snapshot().require_person(id)
    return _respond_with_routes(get_asked(RoutesDiagramParameters), person_id=id)


@describe_picture(
    "A role's routes",
    query=RoutesDiagramParameters,
)
def show_routes_of_role(id: str) -> Response:
    """Draw the upskilling routes from a role."""
    get_snapshot().require_role(id)
    return _respond_with_routes(get_asked(RoutesDiagramParameters), from_role_id=id)


@describe_picture(
    "A team's cover",
    query=TeamDiagramParameters,
)
def show_coverage(id: str) -> Response:
    """Draw who covers which need."""
    snapshot, asked = ask_about_team(id, TeamDiagramParameters)

    def draw() -> str:
        coverage = compute_coverage(snapshot, id, asked["on"], asked["away"])
        points = find_single_points_of_failure(snapshot, id, asked["on"], asked["away"])
        return pictures.draw_coverage(snapshot, coverage, points, **_get_layout(asked))

    return respond_with_picture(draw)


def _respond_with_path(question: PathQuestion) -> Response:
    snapshot, role_id, start, asked = question
    options = get_path_options(snapshot, asked)
    # the picture shows the other ways that the answer tells by default
    options["alternatives"] = None

    def draw() -> str:
        result = services.find_path(snapshot, role_id, **start, on=asked["on"], **options)
        profile = services.get_profile(snapshot, start.get("person_id"), start.get("from_role_id"), asked["on"])
        return pictures.draw_learning_path(snapshot, profile, result, **_get_layout(asked))

    return respond_with_picture(draw, is_slow=True)


def _respond_with_routes(
    asked: dict[str, Any], *, person_id: str | None = None, from_role_id: str | None = None
) -> Response:
    snapshot = get_snapshot()
    target = require_known_role(snapshot, "to", asked["to"])
    limits = get_route_limits(snapshot, asked)

    def draw() -> str:
        result = services.find_upskilling_routes(
            snapshot, target, person_id=person_id, from_role_id=from_role_id, on=asked["on"], **limits
        )
        profile = services.get_profile(snapshot, person_id, from_role_id, asked["on"])
        return pictures.draw_routes(snapshot, profile, result, **_get_layout(asked))

    return respond_with_picture(draw, is_slow=True)
