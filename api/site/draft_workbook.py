"""Rows as a workbook from the page of a draft, and the edited one put into it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from http import HTTPStatus
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flask import Blueprint, redirect
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.wrappers import Response as PlainResponse

from api.desk.names import count
from api.desk.naming import get_id
from api.desk.slices import AskSlice
from api.desk.states import NOW
from api.errors import get_kind
from api.http.actors import get_who
from api.http.context import get_desk, get_request, get_settings
from api.http.draft_services import find_number
from api.http.slices import send_slice
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault
from api.site.drafts import list_faults, send_draft
from ontology.errors import ConflictError, InputError, UnknownIdError

if TYPE_CHECKING:  # brings the reader of workbooks
    from loaders.slice_load import SliceLoad

__all__ = ["build_blueprint"]

_FIELD: Final = "workbook"
#: What rows are asked for -> the table that it names records of; several roles have commas between.
_FILTERS: Final = {"roles": "roles", "below": "competencies"}
#: Of what is held back so many are named.
_NAMED: Final = 20


def build_blueprint() -> Blueprint:
    """Return the blueprint of the form."""
    blueprint = Blueprint("workbook-of-draft", __name__)
    blueprint.add_url_rule("/drafts/<id>/workbook", "take", take)
    blueprint.add_url_rule("/drafts/<id>/workbook", "load", load, methods=("POST",))
    return blueprint


def take(id: str) -> PlainResponse:
    """Send the rows that are asked for; a name that means no record is told at its field."""
    get_desk().graph.drafts.get(id)
    snapshot, faults, asked = get_desk().get_state(NOW).snapshot, [], {}
    for name, table in _FILTERS.items():
        texts = get_request().args.get(name, "").split(",") if name == "roles" else [get_request().args.get(name, "")]
        try:
            asked[name] = ",".join(get_id(snapshot, table, text.strip()) for text in texts if text.strip())
        except (InputError, UnknownIdError) as error:
            faults.append(DraftFault(name, error.detail))
    if faults:
        return send_draft(id, faults, HTTPStatus.UNPROCESSABLE_ENTITY)
    return send_slice(AskSlice(**asked))


def load(id: str) -> PlainResponse:
    """Put what was edited into the draft; where some of it would overwrite something, say so and do nothing."""
    # brings the reader of workbooks
    from loaders.slice_load import load_slice_onto, plan_slice_load
    from loaders.tables.slice_book import read_slice

    request, graph = get_request(), get_desk().graph
    draft = graph.drafts.get(id)
    most = get_settings().max_upload_bytes
    request.max_content_length = most
    try:
        number = find_number(request.form.get("tag", ""), draft)
        sent = request.files.get(_FIELD)
        if sent is None or not sent.filename:
            raise InputError("Choose the workbook that you edited.", parameter=_FIELD)
        with tempfile.TemporaryDirectory(prefix="newel-") as folder:
            path = Path(folder) / "workbook.xlsx"
            sent.save(path)
            read = read_slice(path)
        planned = plan_slice_load(graph, id, read)
        held_back = list(_tell_held_back(planned))
        if held_back:
            return send_draft(id, held_back, HTTPStatus.UNPROCESSABLE_ENTITY)
        if planned.rows:
            why = f"workbook of revision {read.note.revision}{_tell_missing(planned)}"
            load_slice_onto(graph, id, read, who=get_who(), why=why, expected_number=number)
    except RequestEntityTooLarge:
        reason = f"The workbook has more than {most / 1e6:,.0f} MB: take a smaller one."
        return send_draft(id, [DraftFault(_FIELD, reason)], HTTPStatus.REQUEST_ENTITY_TOO_LARGE)
    except (InputError, ConflictError) as error:
        return send_draft(id, list_faults(error, (_FIELD,)), get_kind(error).status)
    if not planned.rows:
        return send_draft(id, [DraftFault(_FIELD, "No cell of this workbook was edited.")], 422)
    return redirect(build_record_address("drafts", id), HTTPStatus.SEE_OTHER)


def _tell_held_back(planned: SliceLoad) -> Iterator[DraftFault]:
    for one in planned.held_back[:_NAMED]:
        where = f"{one.table.replace('_', ' ')}, {one.id}" + (f", {one.column}" if one.column else "")
        yield DraftFault("", f"{where}: {one.reason} (sent: {one.sent or '–'}; in the draft: {one.present or '–'}).")
    if len(planned.held_back) > _NAMED:
        yield DraftFault("", f"{len(planned.held_back) - _NAMED} more are like that.")


def _tell_missing(planned: SliceLoad) -> str:
    """Return how many rows the workbook lacks, for the history of the draft: nothing happens to them."""
    n = sum(map(len, planned.missing.values()))
    return f"; {count(n, 'row')} that it lacks {'stays' if n == 1 else 'stay'}" if n else ""
