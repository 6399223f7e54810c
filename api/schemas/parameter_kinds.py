"""Parameters of addresses: what each answer and list can be asked, checked strictly. Imports marshmallow.

Every value arrives as text. What is unknown, given twice or malformed is an error that names it.
"""

from __future__ import annotations

import math
import re
from typing import Any, Final

from marshmallow import ValidationError, fields

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
