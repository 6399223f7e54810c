"""Drafts over REST: begun, told, brought to the present, published, withdrawn, opened again, deleted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from flask import Response, request
from marshmallow import Schema

from api.desk.drafts import ToldDraft, dump_changes, dump_conflict, dump_release, list_drafts
from api.desk.history import AskRows
from api.desk.states import NOW
from api.errors import build_finding
from api.http import draft_schemas as schemas
from api.http.actors import get_who
from api.http.answer_schemas import build_part_schema
from api.http.arguments import read_asked, require_no_wishes
from api.http.context import get_desk, get_settings
from api.http.draft_services import get_whole_tag, publish, read_if_match, read_present_draft, read_take
from api.http.negotiation import ANSWER_FORMS, JSON, choose_form
from api.http.openapi import DescribedBlueprint, DescribedView, add_route, describe, describe_part
from api.http.pagination import add_links, cut_page
from api.http.parameter_schemas import build_parameters_schema
from api.http.record_schemas import load_members
from api.http.releases import read_publication
from api.http.request_body import read_json_object
from api.http.responses import add_cache_rules, respond_with_tag
from api.json_text import dump_json
from api.settings import Settings

DRAFT_ID: Final = describe_part("The id of a draft.")
_READING: Final[dict[str, Any]] = {
    "query": Schema,
    "headers": ("ETag",),
    "request_headers": ("If-None-Match",),
    "errors": (403, 404, 406, 422),
}
CHANGING: Final[dict[str, Any]] = {
    "query": Schema,
    "request_headers": ("If-Match",),
    "errors": (400, 403, 404, 406, 409, 412, 413, 415, 422, 428),
}


def build_drafts_blueprint(settings: Settings) -> DescribedBlueprint:
    """Return the blueprint of drafts."""
    blueprint = DescribedBlueprint("drafts", "Changes that nobody else sees until they are published.")
    add_route(blueprint, "/drafts", {"GET": show_drafts, "POST": start_draft}, "list", has_states=False)
    add_route(
        blueprint, "/drafts/<id>", {"GET": show_draft, "DELETE": delete_draft}, "item", [DRAFT_ID], has_states=False
    )
    changes = describe(
        "What a draft changes",
        returns=schemas.DraftChanges,
        query=build_parameters_schema(AskRows, settings),
        headers=("ETag", "Link", "X-Pagination"),
        request_headers=("If-None-Match",),
        errors=(403, 404, 406, 422),
    )(show_changes)
    add_route(blueprint, "/drafts/<id>/changes", {"GET": changes}, "changes", [DRAFT_ID], has_states=False)
    add_route(blueprint, "/drafts/<id>/findings", {"GET": show_findings}, "findings", [DRAFT_ID], has_states=False)
    add_route(blueprint, "/drafts/<id>/conflicts", {"GET": show_conflicts}, "conflicts", [DRAFT_ID], has_states=False)
    for part, view in (
        ("rebase", rebase_draft),
        ("publication", publish_draft),
        ("withdrawal", _build_turn("Withdraw a draft: nobody's answers ever differed", "withdraw")),
        ("opening", _build_turn("Open a draft again that was withdrawn", "open")),
    ):
        add_route(blueprint, f"/drafts/<id>/{part}", {"POST": view}, part, [DRAFT_ID], has_states=False)
    return blueprint


@describe("List the drafts", returns=build_part_schema(ToldDraft)(many=True), query=Schema, errors=(403, 406, 422))
def show_drafts() -> Response:
    """Show all drafts: open ones first."""
    require_no_wishes(request)
    desk = get_desk()
    return _respond(list_drafts(desk.graph, desk.get_state(NOW)))


@describe(
    "Start a draft",
    returns=build_part_schema(ToldDraft),
    status=201,
    query=Schema,
    body=schemas.NewDraftBody,
    headers=("ETag", "Location"),
    errors=(400, 403, 406, 409, 413, 415, 422),
)
def start_draft() -> Response:
    """Start one, and show it."""
    require_no_wishes(request)
    body = load_members(schemas.NewDraftBody, read_json_object(request), "draft")
    draft = get_desk().graph.drafts.start(body.pop("id"), body.pop("title"), who=get_who(), **body)
    response = respond_with_draft(draft.id, 201)
    response.headers["Location"] = f"{request.host_url.rstrip('/')}/api/drafts/{draft.id}"
    return response


@describe("Read a draft", returns=build_part_schema(ToldDraft), **_READING)
def show_draft(id: str) -> Response:
    """Show a draft, with the tag that a change of it wants."""
    require_no_wishes(request)
    return respond_with_draft(id)


@describe("Delete a draft that was withdrawn", status=204, **CHANGING)
def delete_draft(id: str) -> Response:
    """Delete it, and all that is kept of it."""
    require_no_wishes(request)
    drafts = get_desk().graph.drafts
    drafts.delete(id, expected_number=read_if_match(request, drafts.get(id)))
    return Response(status=204)


def show_changes(id: str) -> Response:
    """Show what a draft changes, row by row."""
    choose_form(request, ANSWER_FORMS)
    asked = read_asked(AskRows, request.args)
    view = read_present_draft(id)
    page = cut_page(view.rows, asked.page, asked.get_page_size(get_settings()))
    rows = {"rows": dump_changes(view, page.items), "rows_total": page.total}
    response = _respond_of_draft(view.told, rows)
    add_links(response, request, page)
    return response


@describe("What the state a draft leads to breaks", returns=schemas.DraftFindings, **_READING)
def show_findings(id: str) -> Response:
    """Show errors and remarks."""
    require_no_wishes(request)
    view = read_present_draft(id)
    findings = [{"severity": one.severity} | build_finding(one) for one in view.findings]
    return _respond_of_draft(view.told, {"findings": findings})


@describe("What a draft and others changed differently", returns=schemas.DraftConflicts, **_READING)
def show_conflicts(id: str) -> Response:
    """Show the conflicts, each with its three values."""
    require_no_wishes(request)
    view = read_present_draft(id)
    return _respond_of_draft(view.told, {"conflicts": [dump_conflict(view.names, one) for one in view.conflicts]})


@describe(
    "Bring a draft to the present",
    returns=build_part_schema(ToldDraft),
    body=schemas.Rebase,
    headers=("ETag",),
    description="Whatever is in conflict and not decided here stays a conflict, and then the base stays.",
    **CHANGING,
)
def rebase_draft(id: str) -> Response:
    """Decide conflicts, and show the draft as it is then."""
    require_no_wishes(request)
    body = load_members(schemas.Rebase, read_json_object(request), "body")
    drafts = get_desk().graph.drafts
    number = read_if_match(request, drafts.get(id))
    drafts.rebase(id, read_take(body.get("all"), body.get("take", ())), who=get_who(), expected_number=number)
    return respond_with_draft(id)


@describe(
    "Publish a draft as a release",
    returns=schemas.ReleaseSchema,
    body=schemas.ReleaseBody,
    headers=("ETag",),
    description="In one commit. With conflicts, or nothing to publish: 409; with errors: 422. All is told at once.",
    **CHANGING,
)
def publish_draft(id: str) -> Response:
    """Publish it, and show the release."""
    require_no_wishes(request)
    asked, faults = read_publication(read_json_object(request))
    draft = get_desk().graph.drafts.get(id)
    release = publish(id, expected_number=read_if_match(request, draft), faults=faults, **asked)
    return _respond(dump_release(release), get_whole_tag(get_desk().graph.drafts.get(id)))


def _build_turn(summary: str, name: str) -> DescribedView:
    @describe(summary, returns=build_part_schema(ToldDraft), headers=("ETag",), **CHANGING)
    def view(id: str) -> Response:
        require_no_wishes(request)
        drafts = get_desk().graph.drafts
        turn: Callable[..., Any] = getattr(drafts, name)
        turn(id, who=get_who(), expected_number=read_if_match(request, drafts.get(id)))
        return respond_with_draft(id)

    return view


def respond_with_draft(draft_id: str, status: int = 200) -> Response:
    """Return the response that tells a draft as it is now."""
    view = read_present_draft(draft_id)
    return _respond(view.told, get_whole_tag(get_desk().graph.drafts.get(draft_id)), status)


def _respond_of_draft(told: ToldDraft, members: Mapping[str, Any]) -> Response:
    tag = get_whole_tag(get_desk().graph.drafts.get(told.id))
    return _respond({"draft": told.id, "number": told.number, **members}, tag)


def _respond(content: Any, tag: str = "", status: int = 200) -> Response:
    """Return the response; of a draft with its tag, and 304 to who has it already."""
    if not tag:
        return add_cache_rules(Response(dump_json(content), content_type=JSON))
    return respond_with_tag(tag, lambda: dump_json(content), status=status)
