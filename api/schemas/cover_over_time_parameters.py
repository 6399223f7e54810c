"""Parameters of cover over time, stand-ins, fragile needs, headcount and the company's cover."""

from __future__ import annotations

from typing import Final

from api.schemas.parameter_kinds import (
    ChoiceParameter,
    DateParameter,
    IdParameter,
    NumberParameter,
    WholeParameter,
)
from api.schemas.parameters import ParametersSchema, make_on, make_time_limit
from api.schemas.team_parameters import TeamParameters
from ontology.analysis.cover.fragile_needs import ORDERS
from ontology.analysis.places.headcount import LONGEST_YEAR_HOURS, SHIFT_PATTERNS

_RATE: Final = "Share of days on which someone is away, one figure for a whole team (default: the team's own)."


class _Until(TeamParameters):
    until = DateParameter(
        metadata={"description": "The last day told (default: as `weeks` says).", "format": "date"},
    )
    weeks = WholeParameter(
        1,
        520,
        metadata={"description": "Weeks told from the first day; instead of `until` (default: 26)."},
    )
    time_limit = make_time_limit()


# `from` is no name in Python, so schemas with it are built from a dict
CoverageTimelineParameters: Final = ParametersSchema.from_dict(
    {
        "from": DateParameter(metadata={"description": "The first day told (default: `on`).", "format": "date"}),
        **{name: _Until().fields[name] for name in ("on", "away", "until", "weeks", "time_limit")},
    },
    name="CoverageTimelineParameters",
)


class StandInsParameters(TeamParameters):
    """Who can stand in."""

    person = IdParameter(metadata={"description": "The member to stand in for."})
    competency = IdParameter(metadata={"description": "Instead of a person: the need's competency."})
    level = WholeParameter(1, 1000, metadata={"description": "With a competency: only needs at this level."})
    limit = WholeParameter(
        1,
        1000,
        load_default=50,
        metadata={"description": "Most people told for each need or place."},
    )


class FragileNeedsParameters(TeamParameters):
    """Needs in the order of how fragile they are."""

    absence_rate = NumberParameter(0, 1, metadata={"description": _RATE})
    order_by = ChoiceParameter(
        *ORDERS, load_default="criticality", metadata={"description": "What comes first in the order."}
    )
    time_limit = make_time_limit()


class HeadcountParameters(TeamParameters):
    """People needed for the hours of a year."""

    net_hours = NumberParameter(
        1,
        LONGEST_YEAR_HOURS,
        required=True,
        metadata={"description": "Hours a year one person works, after leave, training and absence."},
    )
    manned_hours = NumberParameter(
        0,
        LONGEST_YEAR_HOURS,
        metadata={"description": "Hours a year for needs and places that tell none of their own."},
    )
    shifts = ChoiceParameter(
        *SHIFT_PATTERNS,
        load_default="in-turn",
        metadata={
            "description": "in-turn: the shifts of a team share the hours; side-by-side: each works all of them."
        },
    )


class CompanyCoverParameters(TeamParameters):
    """The cover of all teams."""

    absence_rate = NumberParameter(0, 1, metadata={"description": _RATE})
    limit = WholeParameter(
        1,
        200,
        load_default=20,
        metadata={"description": "Most needs told, and most people who cover needs of several teams."},
    )
    within_hours = NumberParameter(
        0,
        load_default=40.0,
        metadata={"description": "People elsewhere within so many hours of learning are told too."},
    )
    on = make_on()
    time_limit = make_time_limit()
