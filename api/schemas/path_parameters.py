"""Parameters of gap and learning path."""

from __future__ import annotations

from typing import Final

from api.schemas.parameter_kinds import ChoiceParameter, FlagParameter
from api.schemas.parameters import ParametersSchema, make_on, make_role, make_time_limit


class PersonGapParameters(ParametersSchema):
    """Gap of a person."""

    role = make_role("The role asked about.")
    on = make_on()


# `from` is no name in Python, so schemas with it are built from a dict
RoleGapParameters: Final = ParametersSchema.from_dict(
    {"from": make_role("The role whose full profile is the start."), "on": make_on()}, name="RoleGapParameters"
)


class PersonPathParameters(ParametersSchema):
    """Learning path of a person."""

    role = make_role("The role asked about.")
    minimise = ChoiceParameter(
        "hours", "cost", "courses", load_default="hours", metadata={"description": "The first aim."}
    )
    desirable = FlagParameter(load_default=False, metadata={"description": "Whether desirable requirements count."})
    on = make_on()
    time_limit = make_time_limit()


RolePathParameters: Final = ParametersSchema.from_dict(
    {
        "from": make_role("The role whose full profile is the start."),
        **{name: PersonPathParameters().fields[name] for name in ("minimise", "desirable", "on", "time_limit")},
    },
    name="RolePathParameters",
)
