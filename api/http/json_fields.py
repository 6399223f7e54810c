"""Strict JSON fields: a number is a number, a date an ISO date, text without control characters.

Stricter than marshmallow's own, which read "3" as 3 and 20260101 as a date.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable
from typing import Any, Final

from marshmallow import ValidationError, fields

from api.desk.kinds import LARGEST
from loaders.tables.cells import CellError, require_fit
from ontology.model.columns import ID_PATTERN, LONGEST_ID
from ontology.model.several import join_values
from ontology.rdf.terms import is_safe_iri

_ISO_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}")


def parse_date(text: str) -> dt.date:
    """Return the date of an ISO 8601 text YYYY-MM-DD; ValueError says what would be right."""
    if not _ISO_DATE.fullmatch(text):
        raise ValueError("must be a date like 2026-11-24")
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError("must be a valid date: the calendar has no such day") from None


def require_room(text: str) -> None:
    """Raise ValidationError where no cell of a table holds a text, so that no export could be loaded again."""
    try:
        require_fit(text)
    except CellError as error:
        raise ValidationError(str(error)) from None


def require_room_for_all(texts: Iterable[str]) -> None:
    """Raise ValidationError where one cell does not hold these values together."""
    require_room(join_values(texts))


def add_metadata(arguments: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a field's arguments with more words of JSON Schema for the OpenAPI document."""
    return arguments | {"metadata": {**arguments.get("metadata", {}), **more}}


class _PartOfId(fields.String):
    """Text that may be a part of an id, and is then at most `LONGEST_ID` characters long."""

    def __init__(self, *, is_part_of_id: bool = False, **kwargs: Any) -> None:
        super().__init__(**(add_metadata(kwargs, maxLength=LONGEST_ID) if is_part_of_id else kwargs))
        self.is_part_of_id = is_part_of_id

    def _require_short(self, text: str) -> str:
        if self.is_part_of_id:
            require_short(text)
        return text


class JsonText(_PartOfId):
    """Text without the blanks around it; not empty where it is required; what a table cannot hold is refused."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str):
            raise ValidationError("must be text")
        if self.required and not value.strip():
            raise ValidationError("must not be empty")
        # as in a table: blanks around a text are no part of it, and every kind of export must hold it
        text = value.strip()
        require_room(text)
        return self._require_short(text)


class JsonIri(_PartOfId):
    """An absolute IRI (RFC 3987)."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or not is_safe_iri(value):
            raise ValidationError("must be an absolute IRI: a scheme, a colon, and neither blanks nor angle brackets")
        return self._require_short(value)


class JsonId(fields.String):
    """An id; empty allowed where the reference may be left out."""

    def __init__(self, *, allow_empty: bool = False, **kwargs: Any) -> None:
        pattern = f"^({ID_PATTERN.pattern})?$" if allow_empty else f"^{ID_PATTERN.pattern}$"
        super().__init__(**add_metadata(kwargs, pattern=pattern, maxLength=LONGEST_ID))
        self.allow_empty = allow_empty

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str):
            raise ValidationError("must be an id (text)")
        if value == "" and self.allow_empty:
            return value
        if not ID_PATTERN.fullmatch(value):
            raise ValidationError(
                "must be an id: letters, digits, dot, hyphen and underscore, beginning with a letter or digit"
            )
        require_short(value)
        return value


class JsonChoice(fields.String):
    """One of a few words."""

    def __init__(self, choices: tuple[str, ...], *, allow_empty: bool = False, **kwargs: Any) -> None:
        # an optional member may be null, and JSON Schema's enum would forbid it
        shown = [*choices, *([""] if allow_empty else []), *([None] if kwargs.get("allow_none") else [])]
        super().__init__(**add_metadata(kwargs, enum=shown))
        self.choices = choices
        self.allow_empty = allow_empty

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if value == "" and self.allow_empty:
            return value
        if not isinstance(value, str) or value not in self.choices:
            raise ValidationError(f"must be one of {', '.join(self.choices)}")
        return value


class _Limited(fields.Field[Any]):
    """A JSON number within limits."""

    def __init__(self, *, minimum: float | None = None, maximum: float | None = None, **kwargs: Any) -> None:
        self.minimum = -LARGEST if minimum is None else minimum
        self.maximum = LARGEST if maximum is None else maximum
        super().__init__(**add_metadata(kwargs, minimum=self.minimum, maximum=self.maximum))

    def _require_within(self, value: float) -> None:
        if value < self.minimum:
            raise ValidationError(f"must be at least {self.minimum:g}")
        if value > self.maximum:
            raise ValidationError(f"must be at most {self.maximum:g}")


class JsonInteger(_Limited, fields.Integer):
    """A whole JSON number within limits."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        is_whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        if isinstance(value, bool) or not is_whole:
            raise ValidationError("must be a whole number")
        self._require_within(value)
        return int(value)


class JsonNumber(_Limited, fields.Float):
    """A finite JSON number within limits."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise ValidationError("must be a number")
        self._require_within(value)
        return float(value)


class JsonFlag(fields.Boolean):
    """JSON true or false."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise ValidationError("must be true or false")
        return value


class JsonDate(fields.Date):
    """An ISO 8601 date."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str):
            raise ValidationError("must be a date like 2026-11-24")
        try:
            return parse_date(value)
        except ValueError as error:
            raise ValidationError(str(error)) from None


def require_short(value: str) -> None:
    """Raise ValidationError where a text is too long for an address."""
    if len(value) > LONGEST_ID:
        raise ValidationError(f"must be at most {LONGEST_ID} characters long")
