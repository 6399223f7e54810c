"""Bulk edits by workbook over REST: a slice of the tables to take away, and back onto a draft."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from flask import Response, request

from api.desk.parameters import Asks, param
from api.desk.slices import AskSlice, ToldSlice, build_slice, tell_slice
from api.desk.states import NOW
from api.errors import MediaTypeError
from api.http.actors import get_who
from api.http.answer_schemas import build_part_schema
from api.http.arguments import read_asked
from api.http.context import get_desk, get_settings
from api.http.draft_services import get_whole_tag, read_if_match
from api.http.drafts import CHANGING, DRAFT_ID
from api.http.negotiation import ANSWER_FORMS, JSON, WORKBOOK, choose_form
from api.http.openapi import DescribedBlueprint, DescribedView, add_route, describe
from api.http.parameter_schemas import build_parameters_schema
from api.http.responses import add_cache_rules
from api.json_text import dump_json, to_json
from api.settings import Settings
from ontology.errors import NewelError

_FORMS: Final = {"xlsx": WORKBOOK}
_NAME: Final = "slice.xlsx"


@dataclass(frozen=True, kw_only=True)
class AskTrial(Asks):
    """Whether it is only tried."""

    trial: bool = param("Show what would change, and store nothing.", default=False)


def build_slices_blueprint(settings: Settings) -> DescribedBlueprint:
    """Return the blueprint of slices."""
    blueprint = DescribedBlueprint("slices", "Bulk edits by workbook: rows out, and back onto a draft.")
    cut = describe(
        "A slice of the tables, to edit as a workbook",
        returns=build_part_schema(ToldSlice),
        media_types=(WORKBOOK,),
        query=build_parameters_schema(AskSlice, settings),
        errors=(403, 406, 422),
        description="The tables of framework, offers and teams, never those about people. Several values stand between "
        "commas. Edit cells, add rows or write yes under remove, and send it to the workbook address of a draft.",
    )(show_slice)
    add_route(blueprint, "/slices", {"GET": cut}, "slice", has_states=False)
    changing = {**CHANGING, "query": build_parameters_schema(AskTrial, settings)}
    sent = describe(
        "Put an edited slice into a draft",
        returns=build_part_schema(ToldSlice),
        headers=("ETag",),
        description="It is compared, cell by cell, with the slice at its own revision: only what was edited is a "
        "change. Rows go by remove = yes only.",
        **changing,
    )(receive_slice)
    body: dict[str, Any] = {"required": True, "content": {WORKBOOK: {"schema": {"type": "string", "format": "binary"}}}}
    sent = DescribedView(sent.view, sent.operation | {"requestBody": body})
    add_route(blueprint, "/drafts/<id>/workbook", {"POST": sent}, "workbook", [DRAFT_ID], has_states=False)
    return blueprint


def show_slice() -> Response:
    """Send the workbook of a slice of the present state."""
    choose_form(request, _FORMS)
    return send_slice(read_asked(AskSlice, request.args))


def send_slice(asked: AskSlice) -> Response:
    """Send the workbook of a slice of the present state; InputError where it names what there is not."""
    content = build_slice(get_desk().get_state(NOW).snapshot, asked)
    response = Response(content, content_type=WORKBOOK)
    response.headers["Content-Disposition"] = f'attachment; filename="{_NAME}"'
    return add_cache_rules(response)


def receive_slice(id: str) -> Response:
    """Put it into the draft, or try that, and show what changes."""
    # brings the reader of workbooks
    from loaders.slice_load import load_slice_onto, plan_slice_load
    from loaders.tables.slice_book import read_slice

    choose_form(request, ANSWER_FORMS)
    is_trial = read_asked(AskTrial, request.args).trial
    graph = get_desk().graph
    draft = graph.drafts.get(id)
    number = read_if_match(request, draft)
    with tempfile.TemporaryDirectory(prefix="newel-") as folder:
        path = Path(folder) / "workbook.xlsx"
        path.write_bytes(_read_body())
        try:
            read = read_slice(path)
        except NewelError as error:
            # where it lay for a moment is nobody's business
            error.context.pop("path", None)
            raise
    if is_trial:
        told = tell_slice(plan_slice_load(graph, id, read), id, draft.number, is_stored=False)
    else:
        why = f"workbook of revision {read.note.revision}"
        made, now = load_slice_onto(graph, id, read, who=get_who(), why=why, expected_number=number)
        told = tell_slice(made, id, now, is_stored=True)
    response = Response(dump_json(to_json(told)), content_type=JSON)
    response.set_etag(get_whole_tag(graph.drafts.get(id)))
    return add_cache_rules(response)


def _read_body() -> bytes:
    if request.mimetype != WORKBOOK:
        raise MediaTypeError(f"Send the workbook as {WORKBOOK}, not {request.mimetype or 'without a Content-Type'}.")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise MediaTypeError("Send the body without compression.")
    request.max_content_length = get_settings().max_upload_bytes
    return request.get_data(cache=False)
