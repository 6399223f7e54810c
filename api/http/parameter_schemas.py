"""Marshmallow schemas of what questions may be asked: strict reading of an address, and its part of the document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Final, cast

from marshmallow import RAISE, Schema, ValidationError, fields
from werkzeug.datastructures import MultiDict

from api.desk.parameters import USUAL_TIME, Asks, Parameter, list_parameters
from api.errors import ParameterError, WrongParameter
from api.settings import Settings

__all__ = ["build_parameters_schema", "build_schema", "read_asked", "read_values"]


class _Parsed(fields.Field[Any]):
    """A value in text, read as its parameter says."""

    parameter: Parameter

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return self.parameter.parse(value)
        except ValueError as error:
            raise ValidationError(str(error)) from None


class _Whole(_Parsed, fields.Integer):
    """A whole number."""


class _Number(_Parsed, fields.Float):
    """A number."""


class _Day(_Parsed, fields.Date):
    """A day."""


class _Text(_Parsed, fields.String):
    """Anything else."""


_FIELDS: Final[Mapping[str, type[fields.Field[Any]]]] = {"whole": _Whole, "number": _Number, "date": _Day}
_MORE: Final = {
    "ids": ": ids separated by commas",
    "pairs": ": ids separated by commas",
    "dates": ": dates separated by commas",
}


def build_parameters_schema(asks: type[Asks], settings: Settings) -> type[Schema]:
    """Return the schema of the parameters of a question, with the limits of the running application."""
    return build_schema(f"{asks.__name__}Parameters", list_parameters(asks), settings)


@cache
def build_schema(name: str, parameters: tuple[Parameter, ...], settings: Settings) -> type[Schema]:
    """Return the schema of some parameters, with the limits of the running application."""
    members: dict[str, Any] = {parameter.field: _build_field(parameter, settings) for parameter in parameters}
    members["Meta"] = type("Meta", (), {"unknown": RAISE})
    return cast("type[Schema]", type(name, (Schema,), members))


def _build_field(parameter: Parameter, settings: Settings) -> fields.Field[Any]:
    about = parameter.about
    more: dict[str, Any] = {}
    kind = parameter.kind.name
    if kind in _MORE:
        about = about.removesuffix(".") + _MORE[kind] + "."
    if kind in ("whole", "number"):
        more = {"minimum": parameter.minimum, "maximum": parameter.maximum}
    elif kind == "choice":
        more = {"enum": list(parameter.kind.choices)}
    elif kind == "flag":
        more = {"enum": ["0", "1", "false", "no", "true", "yes"]}
    if parameter.default == USUAL_TIME:
        more["maximum"] = settings.time_limit_max_s
        about += f" Default: {settings.time_limit_default_s:g}."
    if parameter.unit:
        about = about.removesuffix(".") + f" ({parameter.unit})."
    if parameter.default_text is not None:
        more["default"] = parameter.default if kind in ("whole", "number") else parameter.default_text
    field = _FIELDS.get(kind, _Text)(
        required=parameter.is_required, data_key=parameter.name, metadata={"description": about, **more}
    )
    field.parameter = parameter  # type: ignore[attr-defined]
    return field


@cache
def _get_schema(parameters: tuple[Parameter, ...], settings: Settings) -> Schema:
    """Return the one instance of a schema: making it costs more than a use, and loading does not change it."""
    return build_schema("Parameters", parameters, settings)()


def read_asked(asks: type[Asks], settings: Settings, arguments: MultiDict[str, str]) -> Asks:
    """Return what an address asks; ``format`` is left to the negotiation of forms.

    Raises
    ------
    ParameterError
        Every parameter that is wrong, unknown, given twice or missing.
    """
    return asks(**read_values(list_parameters(asks), settings, arguments))


def read_values(
    parameters: tuple[Parameter, ...], settings: Settings, arguments: MultiDict[str, str]
) -> dict[str, Any]:
    """Return the values of the parameters that an address gives, by field; errors as `read_asked`."""
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
        loaded: dict[str, Any] = _get_schema(parameters, settings).load(given)
    except ValidationError as error:
        raise ParameterError(*_list_wrong(parameters, error.messages, given)) from None
    return loaded


def _list_wrong(parameters: Iterable[Parameter], messages: Any, given: Mapping[str, str]) -> list[WrongParameter]:
    known = {parameter.name: parameter for parameter in parameters}
    wrong = []
    for name, reasons in messages.items():
        reason = str(reasons[0])
        if reason == "Unknown field.":
            reason = f"is not known here; known are: {', '.join(known) or 'none'}"
        elif reason == "Missing data for required field.":
            reason = "is missing: it must be an id" if known[name].kind.name == "id" else "is missing"
        wrong.append(WrongParameter(str(name), given.get(name), reason))
    return wrong
