"""Lists cut down by exact column values and by words of labels. Imports the collections, their columns and settings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields

from api.collection import Collection
from api.schemas.parameter_kinds import WholeParameter, parse_flag, parse_number, parse_whole
from api.schemas.parameters import ParametersSchema
from api.schemas.values import LARGEST, add_metadata, parse_date
from api.settings import Settings
from ontology.columns import Column

_PAGE: Final = "page"
_PAGE_SIZE: Final = "page_size"
#: How a value of each kind is written in an address.
_SHAPES: Final = {
    "integer": "a whole number",
    "number": "a number like 12 or 12.5",
    "flag": "yes or no",
    "date": "a date like 2026-11-24",
}


class FilterParameter(fields.String):
    """A value of a column in text; empty matches what is not set."""

    def __init__(self, column: Column, **kwargs: Any) -> None:
        more = _SHAPES.get(column.kind, "")
        if column.kind == "choice":
            more = f"one of {', '.join(column.choices)}"
        about = f"Only records with this value. {column.about}" + (f" Here: {more}; empty: not set." if more else "")
        super().__init__(**add_metadata(kwargs, description=about))
        self.column = column

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return parse_value(self.column, value)
        except ValueError as error:
            raise ValidationError(str(error)) from None


def parse_value(column: Column, text: str) -> Any:
    """Return the value of a column from the text of an address; None where it is empty. ValueError."""
    if column.kind in ("integer", "number", "flag", "date") and not text:
        return None
    parsers: dict[str, Callable[[str], Any]] = {
        "integer": lambda value: parse_whole(value, -LARGEST, LARGEST),
        "number": lambda value: parse_number(value, -LARGEST, LARGEST),
        "flag": parse_flag,
        "date": parse_date,
        "choice": lambda value: _parse_choice(column, value),
    }
    return parsers.get(column.kind, str)(text)


def _parse_choice(column: Column, value: str) -> str:
    if value and value not in column.choices:
        raise ValueError(f"must be one of {', '.join(column.choices)}")
    return value


def build_list_schema(collection: Collection, *, without: str = "") -> type[Schema]:
    """Return the parameters of a collection's list: page, page_size, its columns, and q where it is searched."""
    members: dict[str, Any] = {}
    if collection.table.name == "scales":
        members["id"] = FilterParameter(collection.table.columns[0])
    else:
        for column in collection.table.columns:
            if column.name != without:
                members[column.name] = FilterParameter(column)
    if collection.is_searched:
        members["q"] = fields.String(metadata={"description": "Words of the label (or another name), in any order."})
    members[_PAGE] = WholeParameter(1, LARGEST, load_default=1, metadata={"description": "Page, from 1."})
    usual = Settings()
    size = f"Records on a page (default: {usual.page_size_default}, at most {usual.page_size_max})."
    members[_PAGE_SIZE] = WholeParameter(1, LARGEST, load_default=None, metadata={"description": size})
    name = "ListOf" + collection.what + ("Below" if without else "")
    return ParametersSchema.from_dict(members, name=name)


def keep_matching(collection: Collection, items: Sequence[Any], asked: Mapping[str, Any]) -> Sequence[Any]:
    """Return the items whose columns have the values asked for, and whose labels hold all words of q. O(n)."""
    if collection.table.name == "scales":
        return [item for item in items if "id" not in asked or item[0].scale == asked["id"]]
    kept = items
    for name, value in asked.items():
        if name != "q":
            attribute = collection.table.get_column(name).attribute
            kept = [item for item in kept if _has_value(getattr(item, attribute), value)]
    words = str(asked.get("q", "")).casefold().split()
    if words:
        kept = [item for item in kept if all(word in _get_text(item) for word in words)]
    return kept


def _has_value(held: Any, value: Any) -> bool:
    if isinstance(held, tuple):
        return value in held or (value == "" and not held)
    return bool(held == value)


def _get_text(item: Any) -> str:
    return " | ".join((item.label, *getattr(item, "alt_labels", ()))).casefold()
