"""The scale of a competency, or the ranks of a scale, changed in a draft over REST."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response, request
from marshmallow import fields

from api.desk.drafts import ToldDraft
from api.desk.scale_changes import ScaleChange, change_scale
from api.desk.states import NOW
from api.errors import FieldError, FieldsError
from api.http import json_fields as values
from api.http.actors import get_who
from api.http.answer_schemas import build_part_schema
from api.http.arguments import require_no_wishes
from api.http.context import get_desk
from api.http.draft_services import read_if_match
from api.http.drafts import CHANGING, DRAFT_ID, respond_with_draft
from api.http.openapi import DescribedBlueprint, add_route, describe
from api.http.record_schemas import LevelOfScale, RecordSchema, build_field, load_members
from api.http.request_body import read_json_object
from api.http.told_fields import tell
from api.reason_text import check_reason
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES
from ontology.plurals import format_count


class MappedRank(RecordSchema):
    """What one rank of before counts as."""

    from_rank = build_field(TABLES["level_maps"].get_column("from_rank"))
    to_rank = build_field(TABLES["level_maps"].get_column("to_rank"))


class ScaleChangeBody(RecordSchema):
    """A competency that moves to another scale, or without one the scale whose ranks become others."""

    competency = values.JsonText(
        allow_none=True, metadata=tell("The competency that moves; left out: the ranks of the scale change.")
    )
    scale = values.JsonText(required=True, metadata=tell("The scale it moves to, or that changes."))
    levels = fields.List(
        fields.Nested(LevelOfScale),
        metadata=tell("Without a competency: all its levels from now on."),
    )
    map = fields.List(
        fields.Nested(MappedRank),
        allow_none=True,
        metadata=tell(
            "What each rank of before counts as: every rank once, never falling. Left out: by the map "
            "that the draft holds."
        ),
    )
    reason = values.JsonText(metadata=tell("Why, up to 500 characters."))


def build_scale_changes_blueprint() -> DescribedBlueprint:
    """Return the blueprint of changes of scales in drafts."""
    blueprint = DescribedBlueprint("scale-changes", "Competencies on another scale, scales with other ranks.")
    add_route(blueprint, "/drafts/<id>/scale-changes", {"POST": change_in_draft}, "item", [DRAFT_ID])
    return blueprint


@describe(
    "Change the scale of a competency, or the ranks of a scale, in a draft",
    returns=build_part_schema(ToldDraft),
    body=ScaleChangeBody,
    headers=("ETag",),
    description="Requirements, outcomes, entry conditions and needs say their levels as the map reads them; all of it "
    "is seen in the draft and can be edited there. Assessments are read by the map when the draft is published. 409 "
    "where levels are recorded and the map is not whole, or falls.",
    **CHANGING,
)
def change_in_draft(id: str) -> Response:
    """Change it, and show the draft."""
    require_no_wishes(request)
    body = load_members(ScaleChangeBody, read_json_object(request), "scale change")
    asked = _read(body)
    desk = get_desk()
    number = read_if_match(request, desk.graph.drafts.get(id))
    seen = desk.get_state(NOW).snapshot
    change_scale(desk.graph, seen, id, asked, who=get_who(), expected_number=number)
    return respond_with_draft(id)


def _read(body: Mapping[str, Any]) -> ScaleChange:
    faults = []
    reason = str(body.get("reason") or "").strip()
    wrong = check_reason(reason, may_be_empty=True)
    if wrong:
        faults.append(FieldError("/reason", None, wrong))
    levels, competency = body.get("levels") or (), body.get("competency") or ""
    if competency and levels:
        faults.append(FieldError("/levels", None, "cannot go with a competency: either it moves, or ranks change"))
    ranks: dict[int, int] = {}
    for n, row in enumerate(body.get("map") or ()):
        if row["from_rank"] in ranks:
            faults.append(FieldError(f"/map/{n}/from_rank", row["from_rank"], "is there twice"))
        ranks[row["from_rank"]] = row["to_rank"]
    if faults:
        told = format_count(len(faults), "wrong value")
        raise FieldsError(f"The scale change has {told}; nothing was stored.", faults)
    scale = str(body["scale"])
    made = tuple(ScaleLevel(scale, row["rank"], row["label"], row.get("description") or "") for row in levels)
    return ScaleChange(scale, competency, made, ranks if body.get("map") is not None else None, reason)
