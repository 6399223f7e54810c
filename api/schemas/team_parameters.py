"""Parameters of the answers about a team."""

from __future__ import annotations

from api.schemas.parameter_kinds import IdsParameter
from api.schemas.parameters import ParametersSchema, make_on


class TeamParameters(ParametersSchema):
    """A team on a day."""

    on = make_on()
    away = IdsParameter(
        load_default=frozenset(),
        metadata={"description": "People to take as absent: ids separated by commas.", "default": ""},
    )


class StaffingParameters(TeamParameters):
    """Who fills what, also without some people for good."""

    leaving = IdsParameter(
        load_default=frozenset(),
        metadata={
            "description": "Tell also what the team would stand without these people: ids separated by commas.",
            "default": "",
        },
    )
