"""What widens the reach of a person or a role, and what stands out in the framework. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api import services
from api.context import get_snapshot
from api.openapi import add_route, build_blueprint
from api.resources.asking import ID_PARAMETER, get_asked
from api.resources.paths import ERRORS_WHEN_SLOW, describe_answer
from api.responses import respond_with_answer
from api.schemas.framework_answers import FrameworkReview, ReachGains
from api.schemas.framework_parameters import FrameworkReviewParameters, ReachGainsParameters


def build_framework_blueprint() -> Any:
    """Return the blueprint of the answers about the framework as a whole, and of what widens a reach."""
    blueprint = build_blueprint("answers about the framework", "What stands out, and what opens most ways.")
    add_route(blueprint, "/people/<id>/reach-gains", {"GET": show_gains_of_person}, "gains-of-person", [ID_PARAMETER])
    add_route(blueprint, "/roles/<id>/reach-gains", {"GET": show_gains_of_role}, "gains-of-role", [ID_PARAMETER])
    add_route(blueprint, "/framework-review", {"GET": show_framework_review}, "framework-review")
    return blueprint


@describe_answer(
    "Courses and levels that bring most roles within reach of a person",
    returns=ReachGains,
    query=ReachGainsParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_gains_of_person(id: str) -> Response:
    """Show what widens a person's reach."""
    get_snapshot().require_person(id)
    return _respond_with_gains(person_id=id)


@describe_answer(
    "Courses and levels that bring most roles within reach of someone fully in a role",
    returns=ReachGains,
    query=ReachGainsParameters,
    errors=ERRORS_WHEN_SLOW,
)
def show_gains_of_role(id: str) -> Response:
    """Show what widens the reach of a role's full profile."""
    get_snapshot().require_role(id)
    return _respond_with_gains(from_role_id=id)


def _respond_with_gains(**start: str) -> Response:
    snapshot, asked = get_snapshot(), get_asked(ReachGainsParameters)
    return respond_with_answer(
        lambda: services.get_reach_gains(
            snapshot,
            person_id=start.get("person_id"),
            from_role_id=start.get("from_role_id"),
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            limit=asked["limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe_answer(
    "What stands out in the framework",
    returns=FrameworkReview,
    query=FrameworkReviewParameters,
    errors=(406, 422, 503),
)
def show_framework_review() -> Response:
    """Show lone roles, untaught levels, unused courses, high entry levels and what holds routes up."""
    snapshot, asked = get_snapshot(), get_asked(FrameworkReviewParameters)
    return respond_with_answer(
        lambda: services.get_framework_review(
            snapshot,
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )
