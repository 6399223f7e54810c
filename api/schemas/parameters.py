"""What every address's parameters share: strict loading, and the parameters that many answers take.

What is unknown, given twice or malformed is an error that names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from marshmallow import RAISE, Schema, ValidationError
from werkzeug.datastructures import MultiDict

from api.errors import ParameterError, WrongParameter
from api.schemas.parameter_kinds import DateParameter, IdParameter, NumberParameter, WholeParameter
from api.settings import Settings


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
    given: dict[str, str] = {}
    twice = []
    for name, values in arguments.lists():
        if name != "format":
            given[name] = values[0]
        if len(values) > 1:
            twice.append(WrongParameter(name, ", ".join(values), "is given twice"))
    if twice:
        raise ParameterError(*twice)
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


def make_on() -> DateParameter:
    return DateParameter(metadata={"description": "The day asked about (default: today, UTC).", "format": "date"})


def make_time_limit() -> NumberParameter:
    usual = Settings()
    about = (
        f"Seconds to compute (default: {usual.time_limit_default_s:g}, at most {usual.time_limit_max_s:g}); afterwards "
        "the best found is told, with a lower bound."
    )
    return NumberParameter(0.01, 3600, metadata={"description": about})


def make_role(description: str) -> IdParameter:
    return IdParameter(required=True, metadata={"description": description})


def make_preparation_limit() -> NumberParameter:
    about = "Most study hours before one move."
    return NumberParameter(0, load_default=200.0, metadata={"description": about})


def make_level_limit() -> WholeParameter:
    about = "Most levels a requirement may be above the profile at the time the preparation starts."
    return WholeParameter(0, 1000, load_default=2, metadata={"description": about})


class NoParameters(ParametersSchema):
    """Nothing but ``format``."""
