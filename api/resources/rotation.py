"""The answer about a job rotation. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api.openapi import add_route, build_blueprint, describe
from api.resources.asking import ID_PARAMETER, require_known_people
from api.resources.teams import ask_about_team
from api.responses import respond_with_answer
from api.schemas.rotation_answers import Rotation
from api.schemas.rotation_parameters import RotationParameters
from api.services.rotation import RotationQuestion, get_rotation


def build_rotation_blueprint() -> Any:
    """Return the blueprint of job rotation."""
    blueprint = build_blueprint("job rotation", "Who holds which place when, and who learns beside whom.")
    add_route(blueprint, "/teams/<id>/rotation", {"GET": show_rotation}, "rotation", [ID_PARAMETER])
    return blueprint


@describe(
    "A rotation of people through places in which every place is always filled by someone able",
    returns=Rotation,
    query=RotationParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=(404, 406, 422, 503),
)
def show_rotation(id: str) -> Response:
    """Show the rotation, or why there is none."""
    snapshot, asked = ask_about_team(id, RotationParameters)
    require_known_people(snapshot, "people", asked["people"])
    require_known_people(snapshot, "learners", {person for person, _ in asked["learners"]})
    question = RotationQuestion(
        purpose=asked["purpose"],
        on=asked["on"],
        start=asked.get("from", asked["on"]),
        until=asked.get("until"),
        intervals=asked.get("intervals"),
        interval_weeks=asked["interval_weeks"],
        minimum_stay=asked["minimum_stay"],
        maximum_stay=asked.get("maximum_stay"),
        practice=asked.get("practice"),
        people=asked["people"],
        places=asked["places"],
        learners=asked["learners"],
        away=asked["away"],
        has_renewals=asked["renewals"],
    )
    return respond_with_answer(
        lambda: get_rotation(snapshot, id, question, time_limit_s=asked["time_limit"]), is_slow=True
    )
