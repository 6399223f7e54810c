"""Where an answer holds ids of people: found by walking a result along the types of its fields."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterator, Mapping
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from ontology.model.identity import IdOf

#: Of a person, and of a record of a table that another field names.
MARKS = (IdOf("people"), IdOf(""))


def iterate_unmarked(value: Any, people: Collection[str], hint: Any = None, where: str = "") -> Iterator[str]:
    """Yield Record.field for each person's id in a result that its field does not say to be one."""
    hint, is_person = strip(hint)
    if isinstance(value, str):
        if value in people and not is_person:
            yield where
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        hints = get_type_hints(type(value), include_extras=True)
        for field in dataclasses.fields(value):
            place = f"{type(value).__name__}.{field.name}"
            yield from iterate_unmarked(getattr(value, field.name), people, hints[field.name], place)
    elif isinstance(value, Mapping):
        key_hint, value_hint = get_args(hint) or (None, None)
        for key, item in value.items():
            yield from iterate_unmarked(key, people, key_hint, where)
            yield from iterate_unmarked(item, people, value_hint, where)
    elif isinstance(value, tuple | list | set | frozenset):
        hints_of_items = [part for part in get_args(hint) if part is not Ellipsis]
        for n, item in enumerate(value):
            item_hint = hints_of_items[min(n, len(hints_of_items) - 1)] if hints_of_items else None
            yield from iterate_unmarked(item, people, item_hint, where)


def strip(hint: Any) -> tuple[Any, bool]:
    """Return a type without what stands beside it and without None, and whether it is that of a person's id."""
    is_person = False
    while True:
        if get_origin(hint) is Annotated:
            inner, *marks = get_args(hint)
            is_person |= any(mark in MARKS for mark in marks)
            hint = inner
        elif get_origin(hint) in (Union, UnionType):
            parts = [part for part in get_args(hint) if part is not type(None)]
            is_person |= any(strip(part)[1] for part in parts)
            if len(parts) != 1:
                return hint, is_person
            hint = parts[0]
        else:
            return hint, is_person
