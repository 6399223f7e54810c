"""Marshmallow schemas of answers, made from the result records: every member has the sentence that stands beside it.

A member's type is `Annotated[type, "sentence"]` in the record. Every member is always there; what can be null says so.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Mapping
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, cast, get_args, get_origin, get_type_hints

from marshmallow import RAISE, Schema, fields, validate

from api.desk.question import Question
from api.desk.states import ToldState
from api.json_text import name_member

_PLAIN: Final[dict[Any, type[fields.Field[Any]]]] = {
    str: fields.String,
    int: fields.Integer,
    float: fields.Float,
    bool: fields.Boolean,
    dt.date: fields.Date,
}
_OPENING: Final = {
    "person": ("The person whose levels are the start.", fields.String),
    "from_role": ("The role whose full profile is the start.", fields.String),
    "role": ("Id of the role.", fields.String),
    "on": ("The day asked about.", fields.Date),
}


class AnswerPart(Schema):
    """Base of all parts of answers: nothing but the members described."""

    class Meta:
        """No other members."""

        unknown = RAISE


def find_sentence(hint: Any) -> str:
    """Return the sentence beside a member; "" where there is none."""
    if get_origin(hint) is Annotated:
        return next((str(mark) for mark in get_args(hint)[1:] if isinstance(mark, str)), "")
    return ""


@cache
def build_answer_schema(question: Question) -> type[Schema]:
    """Return the schema of a question's whole answer: opening, result, revision and cautions."""
    members: dict[str, Any] = {}
    for name in question.opening:
        for member in ("person", "from_role") if name == "profile" else (name,):
            about, kind = _OPENING[member]
            members[member] = kind(required=name != "profile", metadata={"description": about})
    members |= _build_members(question.answers)
    members["revision"] = fields.Integer(
        required=True, metadata={"description": "State of the store it was computed from."}
    )
    about = "On which state, where that is not the present one."
    members["state"] = fields.Nested(build_part_schema(ToldState), metadata={"description": about})
    if "remarks" not in members:
        about = "What was left out of the state asked, where something was."
        members["remarks"] = fields.List(fields.String(), metadata={"description": about})
    members["cautions"] = fields.List(
        fields.String(), required=True, metadata={"description": "What this must not be taken for."}
    )
    # a record may be called what a question asks for: practice
    return _make(question.name.title().replace("-", "") + "Answer", members)


@cache
def build_part_schema(record: type[Any]) -> type[Schema]:
    """Return the schema of a record that is an answer or stands in one."""
    return _make(record.__name__, _build_members(record))


def _make(name: str, members: dict[str, Any]) -> type[Schema]:
    return cast("type[Schema]", type(name, (AnswerPart,), members))


def _build_members(record: type[Any]) -> dict[str, Any]:
    hints = get_type_hints(record, include_extras=True)
    return {name_member(field.name): _build_field(hints[field.name]) for field in dataclasses.fields(record)}


def _build_field(hint: Any) -> fields.Field[Any]:
    about = find_sentence(hint)
    options: dict[str, Any] = {"required": True, "metadata": {"description": about} if about else {}}
    if get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    if get_origin(hint) in (Union, UnionType):
        kinds = [part for part in get_args(hint) if part is not NoneType]
        if len(kinds) < len(get_args(hint)):
            options["allow_none"] = True
        # words of several lists are words of one
        hint = kinds[0] if len(kinds) == 1 else Literal[tuple(word for kind in kinds for word in get_args(kind))]
    if get_origin(hint) is Annotated:
        hint = get_args(hint)[0]
    if hint is Any:
        return fields.Raw(allow_none=True, **options)
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Literal:
        return fields.String(validate=[validate.OneOf(arguments)], **options)
    if origin in (tuple, list, frozenset):
        return fields.List(_build_field(arguments[0]), **options)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return fields.Dict(keys=fields.String(), values=_build_field(arguments[1]), **options)
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return fields.Nested(build_part_schema(hint), **options)
    if hint in _PLAIN:
        return _PLAIN[hint](**options)
    raise TypeError(f"no member of an answer can be of the type {hint!r}")


def iterate_records(record: type[Any], seen: set[type[Any]] | None = None) -> set[type[Any]]:
    """Return a result record and all records that stand in it."""
    seen = set() if seen is None else seen
    if record in seen:
        return seen
    seen.add(record)
    stack = list(get_type_hints(record).values())
    while stack:
        hint = stack.pop()
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            iterate_records(hint, seen)
        else:
            stack += [part for part in get_args(hint) if part is not Ellipsis]
    return seen
