"""Answers about cover over time, stand-ins, fragile needs, headcount and the company's cover. Imports Flask."""

from __future__ import annotations

from typing import Any

from flask import Response

from api.context import get_snapshot
from api.errors import ParameterError, WrongParameter
from api.openapi import add_route, build_blueprint, describe
from api.resources.asking import ID_PARAMETER, get_asked, require_known_people
from api.resources.teams import ask_about_team
from api.responses import respond_with_answer
from api.schemas.company_answers import CompanyCover
from api.schemas.cover_over_time_answers import CoverageTimeline, FragileNeeds, Headcount, StandIns
from api.schemas.cover_over_time_parameters import (
    CompanyCoverParameters,
    CoverageTimelineParameters,
    FragileNeedsParameters,
    HeadcountParameters,
    StandInsParameters,
)
from api.services import cover_over_time as services
from ontology.graph.snapshot import Snapshot

_ERRORS = (404, 406, 422)
_ERRORS_WHEN_SLOW = (*_ERRORS, 503)


def build_cover_over_time_blueprint() -> Any:
    """Return the blueprint of answers about cover over time and across teams."""
    about = "What changes, until when to act, who can stand in, what is fragile, how many people it takes."
    blueprint = build_blueprint("answers about cover over time", about)
    for part, view in (
        ("coverage-timeline", show_coverage_timeline),
        ("stand-ins", show_stand_ins),
        ("fragile-needs", show_fragile_needs),
        ("headcount", show_headcount),
    ):
        add_route(blueprint, f"/teams/<id>/{part}", {"GET": view}, part, [ID_PARAMETER])
    add_route(blueprint, "/company-cover", {"GET": show_company_cover}, "company-cover")
    return blueprint


@describe(
    "How a team's cover changes, and the last day to act on every hole",
    returns=CoverageTimeline,
    query=CoverageTimelineParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_coverage_timeline(id: str) -> Response:
    """Show every change by day."""
    snapshot, asked = ask_about_team(id, CoverageTimelineParameters)
    start, until = asked.get("from", asked["on"]), asked.get("until")
    if until is not None and "weeks" in asked:
        raise ParameterError(WrongParameter("weeks", str(asked["weeks"]), "must be left out where until is given"))
    if until is not None and until < start:
        raise ParameterError(WrongParameter("until", str(until), f"must not be before {start}"))
    return respond_with_answer(
        lambda: services.get_coverage_timeline(
            snapshot,
            id,
            on=asked["on"],
            from_date=start,
            until=until,
            weeks=asked.get("weeks", services.DEFAULT_WEEKS),
            away=asked["away"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "Who can stand in for a member of a team, or for a need",
    returns=StandIns,
    query=StandInsParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_stand_ins(id: str) -> Response:
    """Show who can stand in."""
    snapshot, asked = ask_about_team(id, StandInsParameters)
    person, competency = asked.get("person"), asked.get("competency")
    if (person is None) == (competency is None):
        raise ParameterError(WrongParameter("person", person, "must be given, or competency; not both"))
    if person is not None:
        require_known_people(snapshot, "person", [person])
    elif competency not in snapshot.competencies:
        raise ParameterError(WrongParameter("competency", competency, "must be the id of a competency"))
    return respond_with_answer(
        lambda: services.get_stand_ins(
            snapshot,
            id,
            on=asked["on"],
            person=person,
            competency=competency,
            level=asked.get("level"),
            away=asked["away"],
            limit=asked["limit"],
        )
    )


@describe(
    "A team's needs in the order of how fragile they are",
    returns=FragileNeeds,
    query=FragileNeedsParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS_WHEN_SLOW,
)
def show_fragile_needs(id: str) -> Response:
    """Show needs by criticality, chance of cover and distance of the next best person."""
    snapshot, asked = ask_about_team(id, FragileNeedsParameters)
    return respond_with_answer(
        lambda: services.get_fragile_needs(
            snapshot,
            id,
            on=asked["on"],
            away=asked["away"],
            absence_rate=asked.get("absence_rate"),
            order_by=asked["order_by"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


@describe(
    "How many people a team's needs and places take in a year",
    returns=Headcount,
    query=HeadcountParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=_ERRORS,
)
def show_headcount(id: str) -> Response:
    """Show people needed and people qualified."""
    snapshot, asked = ask_about_team(id, HeadcountParameters)
    return respond_with_answer(
        lambda: services.get_headcount(
            snapshot,
            id,
            on=asked["on"],
            net_hours=asked["net_hours"],
            manned_hours=asked.get("manned_hours"),
            shifts=asked["shifts"],
            away=asked["away"],
        )
    )


@describe(
    "The cover of all teams: fragile needs, people who cover needs of several teams, teams that could lend",
    returns=CompanyCover,
    query=CompanyCoverParameters,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=(406, 422, 503),
)
def show_company_cover() -> Response:
    """Show the cover of the whole company."""
    snapshot, asked = _ask_about_company()
    return respond_with_answer(
        lambda: services.get_company_cover(
            snapshot,
            on=asked["on"],
            away=asked["away"],
            absence_rate=asked.get("absence_rate"),
            limit=asked["limit"],
            within_hours=asked["within_hours"],
            time_limit_s=asked["time_limit"],
        ),
        is_slow=True,
    )


def _ask_about_company() -> tuple[Snapshot, dict[str, Any]]:
    snapshot = get_snapshot()
    asked = get_asked(CompanyCoverParameters)
    require_known_people(snapshot, "away", asked["away"])
    return snapshot, asked
