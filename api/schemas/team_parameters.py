"""Parameters of the answers about a team."""

from __future__ import annotations

from api.schemas.parameter_kinds import FlagParameter, IdsParameter, NumberParameter, WholeParameter
from api.schemas.parameters import ParametersSchema, make_on, make_time_limit


class TeamParameters(ParametersSchema):
    """A team on a day."""

    on = make_on()
    away = IdsParameter(
        load_default=frozenset(),
        metadata={"description": "People to take as absent: ids separated by commas.", "default": ""},
    )


class CrossTrainingParameters(TeamParameters):
    """A cross-training plan."""

    hours_limit = NumberParameter(0, metadata={"description": "Most study hours of one person (default: no limit)."})
    tolerance = WholeParameter(
        0, 1000, metadata={"description": "Any so many absences shall leave everything intact (default: targets only)."}
    )
    weigh_criticality = FlagParameter(
        load_default=False, metadata={"description": "Whether missing people weigh the need's criticality."}
    )
    time_limit = make_time_limit()
