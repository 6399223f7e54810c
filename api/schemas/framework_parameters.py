"""Parameters of reach gains and of the framework review."""

from __future__ import annotations

from api.schemas.parameter_kinds import WholeParameter
from api.schemas.parameters import (
    ParametersSchema,
    make_level_limit,
    make_on,
    make_preparation_limit,
    make_time_limit,
)


class FrameworkReviewParameters(ParametersSchema):
    """What counts as within reach, on which day."""

    preparation_limit = make_preparation_limit()
    level_limit = make_level_limit()
    on = make_on()
    time_limit = make_time_limit()


class ReachGainsParameters(FrameworkReviewParameters):
    """What widens the reach."""

    limit = WholeParameter(1, 1000, load_default=20, metadata={"description": "Most courses and most levels to name."})
