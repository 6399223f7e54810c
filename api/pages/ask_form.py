"""The form below an answer that asks the same question differently: a field for each parameter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from api.desk.parameters import Asks, Parameter, list_parameters

__all__ = ["Field", "list_fields"]

_TYPES: Final = {"date": "date"}
_NUMBERS: Final = {"integer": "numeric", "number": "decimal"}


@dataclass(frozen=True, slots=True)
class Field:
    """One field: `text` is what it holds, `choices` pairs of value and words where there are only some."""

    name: str
    words: str
    about: str
    unit: str
    text: str
    type: str
    inputmode: str
    table: str
    is_required: bool
    choices: tuple[tuple[str, str], ...]


def list_fields(asks: type[Asks], texts: Mapping[str, str]) -> tuple[Field, ...]:
    """Return the fields of a question's form, filled with what is asked."""
    return tuple(_build_field(parameter, texts) for parameter in list_parameters(asks))


def _build_field(parameter: Parameter, texts: Mapping[str, str]) -> Field:
    kind = parameter.kind
    choices = ("no", "yes") if kind.name == "flag" else kind.choices
    return Field(
        name=parameter.name,
        words=parameter.name.replace("_", " ").capitalize(),
        about=parameter.about,
        unit=parameter.unit,
        text=texts.get(parameter.name, parameter.default_text or ""),
        type=_TYPES.get(kind.name, "text"),
        inputmode=_NUMBERS.get(kind.name, ""),
        table=kind.table,
        is_required=parameter.is_required,
        choices=tuple((choice, choice.replace("-", " ")) for choice in choices),
    )
