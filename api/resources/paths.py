"""The answers that a person and a role's profile share: learning path, routes, reachable roles. Imports Flask.

`start` says whose levels count: `person_id`, or `from_role_id` for someone fully in that role.
"""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from flask import Response

from api import services
from api.context import get_snapshot
from api.openapi import describe
from api.resources.asking import require_known_role
from api.responses import respond_with_answer

ERRORS: Final = (404, 406, 422)
ERRORS_WHEN_SLOW: Final = (*ERRORS, 503)

#: Every answer has a tag, so that a caller who asks again need not be told again.
describe_answer = partial(describe, headers=("ETag",), request_headers=("If-None-Match",))


def respond_with_path(asked: dict[str, Any], role_id: str, **start: str) -> Response:
    """Return the response that holds a learning path to a role."""
    snapshot = get_snapshot()
    return respond_with_answer(
        lambda: services.get_learning_path(
            snapshot,
            role_id,
            person_id=start.get("person_id"),
            from_role_id=start.get("from_role_id"),
            minimise=asked["minimise"],
            with_desirable=asked["desirable"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


def respond_with_routes(asked: dict[str, Any], **start: str) -> Response:
    """Return the response that holds the routes to the role of the parameter ``to``."""
    snapshot = get_snapshot()
    target = require_known_role(snapshot, "to", asked["to"])
    return respond_with_answer(
        lambda: services.get_routes(
            snapshot,
            target,
            person_id=start.get("person_id"),
            from_role_id=start.get("from_role_id"),
            max_moves=asked["max_moves"],
            preparation_limit=asked["preparation_limit"],
            level_limit=asked["level_limit"],
            on=asked["on"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


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
