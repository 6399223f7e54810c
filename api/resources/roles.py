"""Answers about a role: gap and learning path from another role, upskilling routes, similar roles. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api import services
from api.context import get_snapshot
from api.openapi import add_route, build_blueprint
from api.resources.asking import ID_PARAMETER, ask_from_role, get_asked
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
from api.schemas.path_parameters import RoleGapParameters, RolePathParameters
from api.schemas.route_parameters import ReachableParameters, RoutesParameters, SimilarParameters


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


@describe_answer(
    "Gap of someone fully in another role to this role",
    returns=answers.Gap,
    query=RoleGapParameters,
    errors=ERRORS,
)
def show_gap(id: str) -> Response:
    """Show the gap between two roles."""
    snapshot, role_id, start, asked = ask_from_role(id, RoleGapParameters)
    return respond_with_answer(
        lambda: services.get_gap(snapshot, role_id, from_role_id=start["from_role_id"], on=asked["on"])
    )


@describe_answer(
    "Cheapest courses from another role to this role",
    returns=answers.LearningPath,
    query=RolePathParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_learning_path(id: str) -> Response:
    """Show the courses in order."""
    return respond_with_path(ask_from_role(id, RolePathParameters))


@describe_answer(
    "Upskilling routes from this role's full profile to another role",
    returns=answers.Routes,
    query=RoutesParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_routes(id: str) -> Response:
    """Show the best routes, the trade-off and the direct move."""
    get_snapshot().require_role(id)
    return respond_with_routes(get_asked(RoutesParameters), from_role_id=id)


@describe_answer(
    "Roles one move away from this role's full profile",
    returns=answers.ReachableRoles,
    query=ReachableParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_reachable_roles(id: str) -> Response:
    """Show the roles within reach."""
    get_snapshot().require_role(id)
    return respond_with_reachable_roles(get_asked(ReachableParameters), from_role_id=id)


@describe_answer(
    "Roles with the most alike requirements",
    returns=answers.SimilarRoles,
    query=SimilarParameters,
    errors=ERRORS,
)
def show_similar(id: str) -> Response:
    """Show similar roles in order."""
    snapshot = get_snapshot()
    snapshot.require_role(id)
    asked = get_asked(SimilarParameters)
    return respond_with_answer(lambda: services.get_similar_roles(snapshot, id, asked["limit"]))
