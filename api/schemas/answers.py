"""Answers about people and roles as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.path_answers import LearningPath
from api.schemas.route_answers import ReachableRoles, Routes
from api.schemas.shown import (
    STANDINGS,
    Answer,
    AnswerAboutProfile,
    AnswerPart,
    date,
    number,
    parts,
    text,
    texts,
    whole,
)
from api.schemas.team_answers import Coverage, SinglePointsOfFailure, Staffing

__all__ = [
    "Coverage",
    "Gap",
    "Health",
    "Index",
    "LearningPath",
    "ReachableRoles",
    "Routes",
    "SimilarRoles",
    "SinglePointsOfFailure",
    "Staffing",
]


class GapRow(AnswerPart):
    """One requirement and what is held of it."""

    competency = text("Id of the competency.")
    level = whole("The full level.")
    have = whole("The level that counts; null where it was never assessed.", nullable=True)
    declared = whole("A self or unstated rating: shown, never counted.", nullable=True)
    gap = whole("Levels missing.")
    necessity = text("How necessary.", choices=("blocking", "essential", "desirable"))
    weight = number("Importance, 1 to 5.")
    source = text("Who assessed what counts.", nullable=True)
    date = date("The day it was assessed.", nullable=True)
    age_days = whole("Days since then.", nullable=True)
    state = text("Whether it still counts.", choices=("ok", "lapsed", "review-due", "not-assessed"))


class Gap(AnswerAboutProfile):
    """Gap to a role."""

    role = text("The role asked about.")
    readiness = number("Share 0..1, null without requirements: a sort key for roles, no verdict.", nullable=True)
    standing = text("What is met altogether.", choices=STANDINGS)
    blocking_unmet = whole("Blocking requirements below full level.")
    essential_met = whole("Essential requirements at full level.")
    essential_total = whole("Essential requirements.")
    assess_first = texts("Competencies never assessed: assess before training.")
    gaps = parts(GapRow, "Every requirement, gap 0 included.")


class SimilarRole(AnswerPart):
    """A similar role."""

    id = text("Id of the role.")
    label = text("Its label.")
    similarity = number("0 nothing in common .. 1 the same profile.")


class SimilarRoles(Answer):
    """Roles with similar requirements."""

    role = text("The role asked about.")
    roles = parts(SimilarRole, "By falling similarity.")
    remarks = texts("What else should be known.")


class IndexCollection(AnswerPart):
    """One collection of records."""

    name = text("Its name.")
    href = text("Its path.")
    count = whole("How many records.")


class Index(AnswerPart):
    """What there is."""

    collections = parts(IndexCollection, "The collections of records.")
    answers = fields.Dict(
        keys=fields.String(),
        values=fields.String(),
        required=True,
        metadata={"description": "URI templates (RFC 6570) of the answers."},
    )
    diagrams = fields.Dict(
        keys=fields.String(),
        values=fields.String(),
        required=True,
        metadata={"description": "URI templates of the diagrams."},
    )
    openapi = text("Path of the OpenAPI document.")
    browse = text("Path of a page to browse it in.")
    health = text("Path of the health answer.")
    revision = whole("State of the store.")


class Health(AnswerPart):
    """Whether the service answers."""

    status = text("ok where it does.", choices=("ok",))
    revision = whole("State of the store.")
