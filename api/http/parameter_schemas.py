"""Marshmallow schemas of what questions may be asked: their part of the OpenAPI document."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final, cast

from marshmallow import RAISE, Schema, fields

from api.desk.parameters import USUAL_TIME, Asks, Parameter, list_parameters
from api.settings import Settings

_FIELDS: Final[Mapping[str, type[fields.Field[Any]]]] = {
    "whole": fields.Integer,
    "number": fields.Float,
    "date": fields.Date,
}
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
        more |= {"maximum": settings.time_limit_max_s, "default": settings.time_limit_default_s}
    if parameter.is_page_size:
        more |= {"maximum": settings.page_size_max, "default": settings.page_size_default}
    if parameter.unit:
        about = about.removesuffix(".") + f" ({parameter.unit})."
    if parameter.default_text is not None:
        more["default"] = parameter.default if kind in ("whole", "number") else parameter.default_text
    return _FIELDS.get(kind, fields.String)(
        required=parameter.is_required, data_key=parameter.name, metadata={"description": about, **more}
    )
