"""Parameters of gap and learning path."""

from __future__ import annotations

from typing import Final

from api.schemas.parameter_kinds import ChoiceParameter, FlagParameter, IdsParameter, NumberParameter, WholeParameter
from api.schemas.parameters import ParametersSchema, make_on, make_role, make_time_limit
from ontology.analysis.paths.aims import AIMS


class PersonGapParameters(ParametersSchema):
    """Gap of a person."""

    role = make_role("The role asked about.")
    on = make_on()


# `from` is no name in Python, so schemas with it are built from a dict
RoleGapParameters: Final = ParametersSchema.from_dict(
    {"from": make_role("The role whose full profile is the start."), "on": make_on()}, name="RoleGapParameters"
)


def _make_courses(about: str, name: str | None = None) -> IdsParameter:
    about = f"{about} Ids, separated by commas."
    return IdsParameter(load_default=frozenset(), data_key=name, metadata={"description": about})


class PathParameters(ParametersSchema):
    """What a learning path can be asked, and everything that is made of one: pictures, calendars, plans."""

    minimise = ChoiceParameter(*AIMS, load_default="hours", metadata={"description": "The first aim."})
    desirable = FlagParameter(load_default=False, metadata={"description": "Whether desirable requirements count."})
    # `exclude` is a word of every schema's own
    excluded = _make_courses("Courses never used.", "exclude")
    max_hours = NumberParameter(
        0,
        load_default=None,
        metadata={"description": "Most study hours. If no path fits: the largest readiness they buy."},
    )
    max_cost = NumberParameter(
        0, load_default=None, metadata={"description": "Most money. If no path fits: the largest readiness it buys."}
    )
    already_booked = _make_courses("Courses taken for granted as soon as they can be taken, at no cost to the path.")
    on = make_on()
    time_limit = make_time_limit()


class PathWishes(PathParameters):
    """What only the answer can be asked."""

    alternatives = WholeParameter(
        0,
        5,
        load_default=None,
        metadata={"description": "How many further sets of courses to look for. Left out: 2 where that is quick."},
    )


class PersonPathParameters(PathWishes):
    """Learning path of a person."""

    role = make_role("The role asked about.")


RolePathParameters: Final = ParametersSchema.from_dict(
    {"from": make_role("The role whose full profile is the start."), **PathWishes().fields}, name="RolePathParameters"
)
