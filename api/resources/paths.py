"""The answers that a person and a role's profile share: learning path, routes, reachable roles. Imports Flask.

`start` says whose levels count: `person_id`, or `from_role_id` for someone fully in that role.
"""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from flask import Response

from api import services
from api.context import get_snapshot
from api.errors import ParameterError, WrongParameter
from api.openapi import describe
from api.resources.asking import PathQuestion, require_known_role
from api.responses import respond_with_answer
from api.services.paths import RouteLimits
from ontology.graph.snapshot import Snapshot

ERRORS: Final = (404, 406, 422)
ERRORS_WHEN_SLOW: Final = (*ERRORS, 503)

#: Every answer has a tag, so that a caller who asks again need not be told again.
describe_answer = partial(describe, headers=("ETag",), request_headers=("If-None-Match",))


def respond_with_path(question: PathQuestion) -> Response:
    """Return the response that holds a learning path to a role."""
    snapshot, role_id, start, asked = question
    options = get_path_options(snapshot, asked)
    return respond_with_answer(
        lambda: services.get_learning_path(snapshot, role_id, **start, on=asked["on"], **options), is_slow=True
    )


def get_path_options(snapshot: Snapshot, asked: dict[str, Any]) -> services.PathOptions:
    """Return what is asked of a learning path, or of the path under a picture, a calendar, a plan.

    Raises
    ------
    ParameterError
        A course that there is not, or one both excluded and booked.
    """
    exclude, booked = asked["excluded"], asked["already_booked"]
    wrong = [
        WrongParameter(parameter, course_id, "must be ids of courses; this one does not exist")
        for parameter, ids in (("exclude", exclude), ("already_booked", booked))
        for course_id in sorted(ids)
        if course_id not in snapshot.courses
    ]
    if not wrong and exclude & booked:
        both = ",".join(sorted(exclude & booked))
        wrong.append(WrongParameter("already_booked", both, "must not name a course that is excluded too"))
    if wrong:
        raise ParameterError(*wrong)
    options: services.PathOptions = {
        "minimise": asked["minimise"],
        "with_desirable": asked["desirable"],
        "max_hours": asked["max_hours"],
        "max_cost": asked["max_cost"],
        "exclude": exclude,
        "already_booked": booked,
        "time_limit_s": asked["time_limit"],
    }
    if "alternatives" in asked:
        options["alternatives"] = asked["alternatives"]
    return options


def respond_with_routes(asked: dict[str, Any], **start: str) -> Response:
    """Return the response that holds the routes to the role of the parameter ``to``."""
    snapshot = get_snapshot()
    target = require_known_role(snapshot, "to", asked["to"])
    limits = get_route_limits(snapshot, asked)
    return respond_with_answer(
        lambda: services.get_routes(
            snapshot,
            target,
            person_id=start.get("person_id"),
            from_role_id=start.get("from_role_id"),
            on=asked["on"],
            **limits,
        ),
        is_slow=True,
    )


def get_route_limits(snapshot: Snapshot, asked: dict[str, Any]) -> RouteLimits:
    """Return what is asked of routes; ParameterError names a role that there is not."""
    if asked["via"] is not None:
        require_known_role(snapshot, "via", asked["via"])
    wrong = [
        WrongParameter("avoid", role_id, "must be ids of roles; this one does not exist")
        for role_id in sorted(asked["avoid"])
        if role_id not in snapshot.roles
    ]
    if wrong:
        raise ParameterError(*wrong)
    return {
        "max_moves": asked["max_moves"],
        "preparation_limit": asked["preparation_limit"],
        "level_limit": asked["level_limit"],
        "avoid": asked["avoid"],
        "via": asked["via"],
        "study_hours_per_week": asked["study_hours_per_week"],
        "time_limit_s": asked["time_limit"],
    }


def respond_with_reachable_roles(asked: dict[str, Any], **start: str) -> Response:
    """Return the response that holds the roles one move away."""
    snapshot = get_snapshot()
    return respond_with_answer(
        lambda: services.get_reachable_roles(
            snapshot,
            person_id=start.get("person_id"),
            from_role_id=start.get("from_role_id"),
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )
