"""Parameters of addresses: what each answer and list can be asked, checked strictly. Imports marshmallow.

Every value arrives as text. What is unknown, given twice or malformed is an error that names it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache
from typing import Any, Final

from marshmallow import RAISE, Schema, ValidationError, fields
from werkzeug.datastructures import MultiDict

from api.errors import ParameterError, WrongParameter
from api.schemas.values import LARGEST, add_metadata, parse_date
from ontology.columns import ID_PATTERN

_WHOLE: Final = re.compile(r"-?[0-9]{1,18}")
_DECIMAL: Final = re.compile(r"-?[0-9]{1,18}(\.[0-9]{1,18})?")
_FLAGS: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def parse_whole(text: str, minimum: float, maximum: float) -> int:
    """Return the whole number of a text; ValueError says what would be right."""
    if not _WHOLE.fullmatch(text) or not minimum <= int(text) <= maximum:
        raise ValueError(f"must be a whole number from {minimum:g} to {maximum:g}")
    return int(text)


def parse_number(text: str, minimum: float, maximum: float) -> float:
    """Return the number of a text; ValueError says what would be right."""
    if not _DECIMAL.fullmatch(text) or not minimum <= float(text) <= maximum or not math.isfinite(float(text)):
        raise ValueError(f"must be a number from {minimum:g} to {maximum:g}, like 12 or 12.5")
    return float(text)


def parse_flag(text: str) -> bool:
    """Return the truth of a text; ValueError says what would be right."""
    if text not in _FLAGS:
        raise ValueError("must be yes or no")
    return _FLAGS[text]


class WholeParameter(fields.Integer):
    """A whole number in text."""

    def __init__(self, minimum: int, maximum: int, **kwargs: Any) -> None:
        super().__init__(**add_metadata(kwargs, minimum=minimum, maximum=maximum))
        self.minimum = minimum
        self.maximum = maximum

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return _parse(parse_whole, value, self.minimum, self.maximum)


class NumberParameter(fields.Float):
    """A number in text."""

    def __init__(self, minimum: float, maximum: float = LARGEST, **kwargs: Any) -> None:
        super().__init__(**add_metadata(kwargs, minimum=minimum, maximum=maximum))
        self.minimum = minimum
        self.maximum = maximum

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return _parse(parse_number, value, self.minimum, self.maximum)


class FlagParameter(fields.String):
    """yes or no (true, false, 1, 0 are read alike)."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**add_metadata(kwargs, enum=sorted(_FLAGS), default="no"))

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return _parse(parse_flag, value)


class DateParameter(fields.Date):
    """An ISO 8601 date."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return _parse(parse_date, value)


class ChoiceParameter(fields.String):
    """One of a few words."""

    def __init__(self, *choices: str, **kwargs: Any) -> None:
        super().__init__(**add_metadata(kwargs, enum=list(choices)))
        self.choices = choices

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if value not in self.choices:
            raise ValidationError(f"must be one of {', '.join(self.choices)}")
        return value


class IdParameter(fields.String):
    """An id."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not ID_PATTERN.fullmatch(value):
            raise ValidationError("must be an id")
        return value


class IdsParameter(fields.String):
    """Ids separated by commas; empty for none."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        ids = value.split(",") if value else []
        if not all(ID_PATTERN.fullmatch(part) for part in ids):
            raise ValidationError("must be ids separated by commas")
        return frozenset(ids)


def _parse(parse: Any, *arguments: Any) -> Any:
    try:
        return parse(*arguments)
    except ValueError as error:
        raise ValidationError(str(error)) from None


class ParametersSchema(Schema):
    """Base of the parameter schemas."""

    class Meta:
        """What is unknown is an error."""

        unknown = RAISE


@cache
def get_schema(schema: type[Schema]) -> Schema:
    """Return the one instance of a schema: making it costs more than a use, and loading does not change it."""
    return schema()


def load_parameters(schema: type[Schema], arguments: MultiDict[str, str]) -> dict[str, Any]:
    """Return the checked parameters by name, defaults filled in; ``format`` is left to api.negotiation.

    Raises
    ------
    ParameterError
        Every parameter that is wrong, unknown, given twice or missing.
    """
    given = {name: value for name, value in arguments.items() if name != "format"}
    twice = [name for name in arguments if len(arguments.getlist(name)) > 1]
    if twice:
        raise ParameterError(*(WrongParameter(n, ", ".join(arguments.getlist(n)), "is given twice") for n in twice))
    try:
        loaded: dict[str, Any] = get_schema(schema).load(given)
    except ValidationError as error:
        raise ParameterError(*_list_wrong(schema, error.messages, given)) from None
    return loaded


def _list_wrong(schema: type[Schema], messages: Any, given: Mapping[str, str]) -> list[WrongParameter]:
    wrong = []
    for name, reasons in messages.items():
        reason = str(reasons[0])
        if reason == "Unknown field.":
            known = ", ".join(field.data_key or key for key, field in get_schema(schema).load_fields.items())
            reason = f"is not known here; known are: {known or 'none'}"
        elif reason == "Missing data for required field.":
            reason = "is missing: it must be an id" if _is_id(schema, name) else "is missing"
        wrong.append(WrongParameter(str(name), given.get(name), reason))
    return wrong


def _is_id(schema: type[Schema], name: str) -> bool:
    return isinstance(get_schema(schema).load_fields.get(name), IdParameter)


def _on() -> DateParameter:
    return DateParameter(metadata={"description": "The day asked about (default: today, UTC).", "format": "date"})


def _time_limit() -> NumberParameter:
    about = "Seconds to compute at the most; afterwards the best found is told, with a lower bound."
    return NumberParameter(0.01, 3600, metadata={"description": about})


def _role(description: str) -> IdParameter:
    return IdParameter(required=True, metadata={"description": description})


def _preparation_limit() -> NumberParameter:
    about = "Most study hours before one move."
    return NumberParameter(0, load_default=200.0, metadata={"description": about})


def _level_limit() -> WholeParameter:
    about = "Most levels a requirement may be above the profile at the time the preparation starts."
    return WholeParameter(0, 1000, load_default=2, metadata={"description": about})


class NoParameters(ParametersSchema):
    """Nothing but ``format``."""


class PersonGapParameters(ParametersSchema):
    """Gap of a person."""

    role = _role("The role asked about.")
    on = _on()


# `from` is no name in Python, so schemas with it are built from a dict
RoleGapParameters: Final = ParametersSchema.from_dict(
    {"from": _role("The role whose full profile is the start."), "on": _on()}, name="RoleGapParameters"
)


class PersonPathParameters(ParametersSchema):
    """Learning path of a person."""

    role = _role("The role asked about.")
    minimise = ChoiceParameter(
        "hours", "cost", "courses", load_default="hours", metadata={"description": "The first aim."}
    )
    desirable = FlagParameter(load_default=False, metadata={"description": "Whether desirable requirements count."})
    on = _on()
    time_limit = _time_limit()


RolePathParameters: Final = ParametersSchema.from_dict(
    {
        "from": _role("The role whose full profile is the start."),
        **{name: PersonPathParameters().fields[name] for name in ("minimise", "desirable", "on", "time_limit")},
    },
    name="RolePathParameters",
)


class RoutesParameters(ParametersSchema):
    """Upskilling routes."""

    to = _role("The target role.")
    max_moves = WholeParameter(1, 10, load_default=3, metadata={"description": "Most moves of a route."})
    preparation_limit = _preparation_limit()
    level_limit = _level_limit()
    on = _on()
    time_limit = _time_limit()


class ReachableParameters(ParametersSchema):
    """Roles one move away."""

    preparation_limit = _preparation_limit()
    level_limit = _level_limit()
    on = _on()
    time_limit = _time_limit()


class SimilarParameters(ParametersSchema):
    """Similar roles."""

    limit = WholeParameter(1, 1000, load_default=20, metadata={"description": "Most roles to name."})


class TeamParameters(ParametersSchema):
    """A team on a day."""

    on = _on()
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
    time_limit = _time_limit()
