"""Answers about a team: coverage, single points of failure, staffing. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response
from marshmallow import Schema

from api import services
from api.context import get_snapshot
from api.openapi import add_route, build_blueprint, describe
from api.resources.asking import ID_PARAMETER, get_asked, require_known_people
from api.responses import respond_with_answer
from api.schemas import answers
from api.schemas.team_parameters import StaffingParameters, TeamParameters
from ontology.graph.snapshot import Snapshot

_ERRORS = (404, 406, 422)
_ERRORS_WHEN_SLOW = (*_ERRORS, 503)


def build_teams_blueprint() -> Any:
    """Return the blueprint of answers about teams."""
    blueprint = build_blueprint("answers about teams", "What a team can do, and what breaks.")
    for part, view in (
        ("coverage", show_coverage),
        ("single-points-of-failure", show_single_points_of_failure),
        ("staffing", show_staffing),
    ):
        add_route(blueprint, f"/teams/<id>/{part}", {"GET": view}, part, [ID_PARAMETER])
    return blueprint


@describe(
    "Depth of every cover need of a team",
    returns=answers.Coverage,
    query=TeamParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_coverage(id: str) -> Response:
    """Show the cover needs with their depth."""
    snapshot, asked = ask_about_team(id, TeamParameters)
    return respond_with_answer(
        lambda: services.get_coverage(snapshot, id, on=asked["on"], away=asked["away"], is_plain=False)
    )


@describe(
    "People on whom alone something rests",
    returns=answers.SinglePointsOfFailure,
    query=TeamParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_single_points_of_failure(id: str) -> Response:
    """Show whose absence alone breaks what."""
    snapshot, asked = ask_about_team(id, TeamParameters)
    return respond_with_answer(
        lambda: services.get_single_points_of_failure(snapshot, id, on=asked["on"], away=asked["away"])
    )


@describe(
    "Who can fill a team's places at once",
    returns=answers.Staffing,
    query=StaffingParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_staffing(id: str) -> Response:
    """Show an assignment, the bottleneck and the tolerance."""
    snapshot, asked = ask_about_team(id, StaffingParameters)
    require_known_people(snapshot, "leaving", asked["leaving"])
    return respond_with_answer(
        lambda: services.get_staffing(snapshot, id, on=asked["on"], away=asked["away"], leaving=asked["leaving"]),
        is_slow=True,
    )


def ask_about_team(team_id: str, schema: type[Schema]) -> tuple[Snapshot, dict[str, Any]]:
    """Return the Snapshot and the checked parameters of a question about a team."""
    snapshot = get_snapshot()
    snapshot.require_team(team_id)
    asked = get_asked(schema)
    require_known_people(snapshot, "away", asked["away"])
    return snapshot, asked
