"""Answers about a person: gap, learning path, upskilling routes, reachable roles. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api import services
from api.context import get_snapshot
from api.openapi import add_route, build_blueprint, describe
from api.resources.asking import ID_PARAMETER, get_asked, require_known_role
from api.responses import respond_with_answer
from api.schemas import answers
from api.schemas.parameters import (
    PersonGapParameters,
    PersonPathParameters,
    ReachableParameters,
    RoutesParameters,
)

_ERRORS = (404, 406, 422)
_ERRORS_WHEN_SLOW = (*_ERRORS, 503)


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


@describe(
    "Gap of a person to a role",
    returns=answers.Gap,
    query=PersonGapParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_gap(id: str) -> Response:
    """Show the gap, requirement by requirement."""
    snapshot = get_snapshot()
    snapshot.require_person(id)
    asked = get_asked(PersonGapParameters)
    role_id = require_known_role(snapshot, "role", asked["role"])
    return respond_with_answer(lambda: services.get_gap(snapshot, role_id, person_id=id, on=asked["on"]))


@describe(
    "Cheapest courses from a person to a role",
    returns=answers.LearningPath,
    query=PersonPathParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_learning_path(id: str) -> Response:
    """Show the courses in order."""
    snapshot = get_snapshot()
    snapshot.require_person(id)
    asked = get_asked(PersonPathParameters)
    role_id = require_known_role(snapshot, "role", asked["role"])
    return respond_with_answer(
        lambda: services.get_learning_path(
            snapshot,
            role_id,
            person_id=id,
            minimise=asked["minimise"],
            with_desirable=asked["desirable"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Upskilling routes from a person to a role",
    returns=answers.Routes,
    query=RoutesParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_routes(id: str) -> Response:
    """Show the best routes, the trade-off and the direct move."""
    snapshot = get_snapshot()
    snapshot.require_person(id)
    asked = get_asked(RoutesParameters)
    role_id = require_known_role(snapshot, "to", asked["to"])
    return respond_with_answer(
        lambda: services.get_routes(
            snapshot,
            role_id,
            person_id=id,
            max_moves=asked["max_moves"],
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Roles one move away from a person",
    returns=answers.ReachableRoles,
    query=ReachableParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_reachable_roles(id: str) -> Response:
    """Show the roles within reach."""
    snapshot = get_snapshot()
    snapshot.require_person(id)
    asked = get_asked(ReachableParameters)
    return respond_with_answer(
        lambda: services.get_reachable_roles(
            snapshot,
            person_id=id,
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )
