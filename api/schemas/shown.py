"""Short forms of the fields that answer schemas are written in. Imports marshmallow only.

Every member of an answer is always there; what can be null says so.
"""

from __future__ import annotations

from typing import Any

from marshmallow import RAISE, Schema, fields, validate


class AnswerPart(Schema):
    """Base of all parts of answers: nothing but the members described."""

    class Meta:
        """No other members."""

        unknown = RAISE


def text(about: str, *, nullable: bool = False, choices: tuple[str, ...] = ()) -> fields.String:
    """Return a text member; one of `choices` where they are given."""
    checks = [validate.OneOf(choices)] if choices else []
    return fields.String(required=True, allow_none=nullable, validate=checks, metadata={"description": about})


def whole(about: str, *, nullable: bool = False) -> fields.Integer:
    """Return a whole number member."""
    return fields.Integer(required=True, allow_none=nullable, metadata={"description": about})


def number(about: str, *, nullable: bool = False) -> fields.Float:
    """Return a number member."""
    return fields.Float(required=True, allow_none=nullable, metadata={"description": about})


def flag(about: str) -> fields.Boolean:
    """Return a true or false member."""
    return fields.Boolean(required=True, metadata={"description": about})


def date(about: str, *, nullable: bool = False) -> fields.Date:
    """Return an ISO date member."""
    return fields.Date(required=True, allow_none=nullable, metadata={"description": about})


def texts(about: str) -> fields.List[Any]:
    """Return a list of texts (ids, mostly)."""
    return fields.List(fields.String(), required=True, metadata={"description": about})


def parts(schema: type[Schema], about: str) -> fields.List[Any]:
    """Return a list of parts."""
    return fields.List(fields.Nested(schema), required=True, metadata={"description": about})


def part(schema: type[Schema], about: str, *, nullable: bool = False) -> fields.Nested:
    """Return one part."""
    return fields.Nested(schema, required=True, allow_none=nullable, metadata={"description": about})


class Answer(AnswerPart):
    """What every answer holds."""

    revision = whole("State of the store it was computed from.")
    cautions = texts("What this must not be taken for.")


class AnswerAboutProfile(Answer):
    """An answer that starts from a person's levels or from a role's full profile; exactly one of the two is told."""

    person = fields.String(metadata={"description": "The person whose levels are the start."})
    from_role = fields.String(metadata={"description": "The role whose full profile is the start."})
    on = date("The day asked about.")
    remarks = texts("What else should be known.")


STANDINGS = ("none", "may-start", "works-alone", "full")
STATUSES = ("optimal", "feasible", "unreachable", "nothing-to-do")
ABOUT_STATUS = "optimal: proved for these entries; feasible: the best found when the time limit struck."
