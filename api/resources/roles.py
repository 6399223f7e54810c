"""Answers about a role: gap and learning path from another role, upskilling routes, similar roles. Imports Flask."""

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
    ReachableParameters,
    RoleGapParameters,
    RolePathParameters,
    RoutesParameters,
    SimilarParameters,
)

_ERRORS = (404, 406, 422)
_ERRORS_WHEN_SLOW = (*_ERRORS, 503)


def build_roles_blueprint() -> Any:
    """Return the blueprint of answers about roles."""
    blueprint = build_blueprint("answers about roles", "How roles hang together.")
    for part, view in (
        ("gap", show_gap),
        ("learning-path", show_learning_path),
        ("routes", show_routes),
        ("reachable-roles", show_reachable_roles),
        ("similar", show_similar),
    ):
        add_route(blueprint, f"/roles/<id>/{part}", {"GET": view}, part, [ID_PARAMETER])
    return blueprint


@describe(
    "Gap of someone fully in another role to this role",
    returns=answers.Gap,
    query=RoleGapParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_gap(id: str) -> Response:
    """Show the gap between two roles."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(RoleGapParameters)
    start = require_known_role(snapshot, "from", asked["from"])
    return respond_with_answer(lambda: services.get_gap(snapshot, id, from_role_id=start, on=asked["on"]))


@describe(
    "Cheapest courses from another role to this role",
    returns=answers.LearningPath,
    query=RolePathParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_learning_path(id: str) -> Response:
    """Show the courses in order."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(RolePathParameters)
    start = require_known_role(snapshot, "from", asked["from"])
    return respond_with_answer(
        lambda: services.get_learning_path(
            snapshot,
            id,
            from_role_id=start,
            minimise=asked["minimise"],
            with_desirable=asked["desirable"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Upskilling routes from this role's full profile to another role",
    returns=answers.Routes,
    query=RoutesParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_routes(id: str) -> Response:
    """Show the best routes, the trade-off and the direct move."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(RoutesParameters)
    target = require_known_role(snapshot, "to", asked["to"])
    return respond_with_answer(
        lambda: services.get_routes(
            snapshot,
            target,
            from_role_id=id,
            max_moves=asked["max_moves"],
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Roles one move away from this role's full profile",
    returns=answers.ReachableRoles,
    query=ReachableParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_reachable_roles(id: str) -> Response:
    """Show the roles within reach."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(ReachableParameters)
    return respond_with_answer(
        lambda: services.get_reachable_roles(
            snapshot,
            from_role_id=id,
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Roles with the most alike requirements",
    returns=answers.SimilarRoles,
    query=SimilarParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_similar(id: str) -> Response:
    """Show similar roles in order."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(SimilarParameters)
    return respond_with_answer(lambda: services.get_similar_roles(snapshot, id, asked["limit"]))
