"""Parameters of routes, reachable roles and similar roles."""

from __future__ import annotations

from api.schemas.parameter_kinds import IdParameter, IdsParameter, NumberParameter, WholeParameter
from api.schemas.parameters import (
    ParametersSchema,
    make_level_limit,
    make_on,
    make_preparation_limit,
    make_role,
    make_time_limit,
)


class RoutesParameters(ParametersSchema):
    """Upskilling routes."""

    to = make_role("The target role.")
    max_moves = WholeParameter(1, 10, load_default=3, metadata={"description": "Most moves of a route."})
    preparation_limit = make_preparation_limit()
    level_limit = make_level_limit()
    avoid = IdsParameter(
        load_default=frozenset(), metadata={"description": "Roles that no route moves into, separated by commas."}
    )
    via = IdParameter(load_default=None, metadata={"description": "A role that every route passes through."})
    study_hours_per_week = NumberParameter(
        0.01,
        load_default=None,
        metadata={"description": "Hours a week for study (default: the person's own); they pace the months."},
    )
    on = make_on()
    time_limit = make_time_limit()


class ReachableParameters(ParametersSchema):
    """Roles one move away."""

    preparation_limit = make_preparation_limit()
    level_limit = make_level_limit()
    on = make_on()
    time_limit = make_time_limit()


class SimilarParameters(ParametersSchema):
    """Similar roles."""

    limit = WholeParameter(1, 1000, load_default=20, metadata={"description": "Most roles to name."})
