"""Members of what is told, for the OpenAPI document: each with its sentence."""

from __future__ import annotations

from typing import Any

from marshmallow import fields


def tell(about: str) -> dict[str, str]:
    """Return the metadata of a member: one sentence."""
    return {"description": about}


def text(about: str, **more: Any) -> fields.String:
    """Return a member that is a text."""
    return fields.String(required=True, metadata=tell(about), **more)


def whole(about: str, **more: Any) -> fields.Integer:
    """Return a member that is a whole number."""
    return fields.Integer(required=True, metadata=tell(about), **more)


def flag(about: str) -> fields.Boolean:
    """Return a member that is true or false."""
    return fields.Boolean(required=True, metadata=tell(about))


def several(kind: Any, about: str, **more: Any) -> fields.List[Any]:
    """Return a member that is a list of members of one kind."""
    return fields.List(kind, required=True, metadata=tell(about), **more)


def by_name(kind: Any, about: str) -> fields.Dict:
    """Return a member that holds members of one kind, each by its name."""
    return fields.Dict(keys=fields.String(), values=kind, required=True, metadata=tell(about))
