"""A level out of reach, as paths and routes tell it. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import AnswerPart, text, whole


class UnreachableLevel(AnswerPart):
    """A level that no order of courses reaches."""

    competency = text("Id of the competency.")
    level = whole("The level.")
    reason = text("Why.")
