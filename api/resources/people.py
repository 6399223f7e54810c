"""Answers about a person: gap, learning path, upskilling routes, reachable roles. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api import services
from api.context import get_snapshot
from api.openapi import add_route, build_blueprint
from api.resources.asking import ID_PARAMETER, ask_from_person, get_asked
from api.resources.paths import (
    ERRORS,
    ERRORS_WHEN_SLOW,
    describe_answer,
    respond_with_path,
    respond_with_reachable_roles,
    respond_with_routes,
)
from api.responses import respond_with_answer
from api.schemas import answers
from api.schemas.path_parameters import PersonGapParameters, PersonPathParameters
from api.schemas.route_parameters import ReachableParameters, RoutesParameters


def build_people_blueprint() -> Any:
    """Return the blueprint of answers about people."""
    blueprint = build_blueprint("answers about people", "Where a person stands and what leads on.")
    for part, view in (
        ("gap", show_gap),
        ("learning-path", show_learning_path),
        ("routes", show_routes),
        ("reachable-roles", show_reachable_roles),
    ):
        add_route(blueprint, f"/people/<id>/{part}", {"GET": view}, part, [ID_PARAMETER])
    return blueprint


@describe_answer(
    "Gap of a person to a role",
    returns=answers.Gap,
    query=PersonGapParameters,
    errors=ERRORS,
)
def show_gap(id: str) -> Response:
    """Show the gap, requirement by requirement."""
    snapshot, role_id, start, asked = ask_from_person(id, PersonGapParameters)
    return respond_with_answer(lambda: services.get_gap(snapshot, role_id, **start, on=asked["on"], is_plain=False))


@describe_answer(
    "Cheapest courses from a person to a role",
    returns=answers.LearningPath,
    query=PersonPathParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_learning_path(id: str) -> Response:
    """Show the courses in order."""
    return respond_with_path(ask_from_person(id, PersonPathParameters))


@describe_answer(
    "Upskilling routes from a person to a role",
    returns=answers.Routes,
    query=RoutesParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_routes(id: str) -> Response:
    """Show the best routes, the trade-off and the direct move."""
    get_snapshot().require_person(id)
    return respond_with_routes(get_asked(RoutesParameters), person_id=id)


@describe_answer(
    "Roles one move away from a person",
    returns=answers.ReachableRoles,
    query=ReachableParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_reachable_roles(id: str) -> Response:
    """Show the roles within reach."""
    get_snapshot().require_person(id)
    return respond_with_reachable_roles(get_asked(ReachableParameters), person_id=id)
