"""Something retired in a draft, over REST."""

from __future__ import annotations

from flask import Response, request
from marshmallow import fields

from api.desk.drafts import ToldDraft
from api.desk.retiring import MATCHES, retire, write_replacements
from api.errors import FieldError, FieldsError
from api.http import json_fields as values
from api.http.actors import get_who
from api.http.answer_schemas import build_part_schema
from api.http.arguments import require_no_wishes
from api.http.context import get_desk
from api.http.draft_services import read_if_match
from api.http.drafts import CHANGING, DRAFT_ID, respond_with_draft
from api.http.openapi import DescribedBlueprint, add_route, describe
from api.http.record_schemas import RecordSchema, load_members
from api.http.request_body import read_json_object
from api.http.told_fields import tell
from api.reason_text import check_reason
from ontology.model.retirable import CARRIES, RETIRABLE


class TakerBody(RecordSchema):
    """What takes the place of something retired."""

    id = values.JsonText(required=True, metadata=tell("Its id."))
    carry = values.JsonChoice(
        CARRIES,
        allow_none=True,
        metadata=tell(
            "Of competencies, how levels recorded of the old one are read: same (of one that replaces "
            "it, the default), declared (shown, never counted; of several, the default) or none."
        ),
    )


class RetirementBody(RecordSchema):
    """A competency, role or course to retire."""

    table = values.JsonChoice(RETIRABLE, required=True, metadata=tell("Of which table it is."))
    id = values.JsonText(required=True, metadata=tell("Its id."))
    replaced_by = fields.List(
        fields.Nested(TakerBody),
        metadata=tell("What takes its place: one replaces it, several are its parts; none leaves it empty."),
    )
    reason = values.JsonText(metadata=tell("Why, up to 500 characters."))


class ReplacementsBody(RecordSchema):
    """By what records of a draft are the same as published ones."""

    match = values.JsonChoice(
        MATCHES, required=True, metadata=tell("What is known to be the same, or also what is suggested.")
    )
    # a word of the language: the member is called except
    left_out = fields.List(
        values.JsonText(),
        data_key="except",
        metadata=tell("Published records of which nothing is written: table/id."),
    )


def build_retirements_blueprint() -> DescribedBlueprint:
    """Return the blueprint of what is retired in drafts."""
    blueprint = DescribedBlueprint("retirements", "What is retired in a draft, and what takes its place.")
    add_route(blueprint, "/drafts/<id>/retirements", {"POST": retire_in_draft}, "item", [DRAFT_ID])
    add_route(blueprint, "/drafts/<id>/replacements", {"POST": replace_in_draft}, "replacements", [DRAFT_ID])
    return blueprint


@describe(
    "Retire a competency, role or course in a draft",
    returns=build_part_schema(ToldDraft),
    body=RetirementBody,
    headers=("ETag",),
    description="What names it names what takes its place; all of that is seen in the draft and can be edited there. "
    "It is retired on the day the draft is published.",
    **CHANGING,
)
def retire_in_draft(id: str) -> Response:
    """Retire it, and show the draft."""
    require_no_wishes(request)
    body = load_members(RetirementBody, read_json_object(request), "retirement")
    reason = str(body.get("reason") or "").strip()
    wrong = check_reason(reason, may_be_empty=True)
    if wrong:
        raise FieldsError("The retirement has 1 wrong value; nothing was stored.", [FieldError("/reason", None, wrong)])
    from ontology.live.retiring import Taker  # brings the store

    graph = get_desk().graph
    takers = [Taker(one["id"], one.get("carry") or "") for one in body.get("replaced_by") or ()]
    number = read_if_match(request, graph.drafts.get(id))
    retire(graph, id, body["table"], body["id"], takers, reason, who=get_who(), expected_number=number)
    return respond_with_draft(id)


@describe(
    "Write into a draft what took the place of what",
    returns=build_part_schema(ToldDraft),
    body=ReplacementsBody,
    headers=("ETag",),
    description="The pairs of the draft and the published state, as they are compared, become replacements, so that "
    "old addresses lead on.",
    **CHANGING,
)
def replace_in_draft(id: str) -> Response:
    """Write the replacements, and show the draft."""
    require_no_wishes(request)
    body = load_members(ReplacementsBody, read_json_object(request), "body")
    graph = get_desk().graph
    number = read_if_match(request, graph.drafts.get(id))
    left_out = frozenset(body.get("left_out") or ())
    write_replacements(graph, id, body["match"], left_out, who=get_who(), expected_number=number)
    return respond_with_draft(id)
