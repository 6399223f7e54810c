"""The form that moves a competency to another scale, or gives a scale other ranks, in a draft."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus

from flask import Blueprint, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.naming import get_id
from api.desk.scale_changes import ScaleChange, change_scale, name_levels
from api.desk.states import NOW
from api.errors import get_kind
from api.http.actors import get_who
from api.http.context import get_desk, get_request
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault
from api.pages.scale_change import build_form, describe_scale_change
from api.reason_text import check_reason
from api.site.drafts import list_faults
from api.site.sending import send_page
from ontology.errors import ConflictError, InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the form."""
    blueprint = Blueprint("scale-change", __name__)
    blueprint.add_url_rule("/drafts/<id>/scale-changes", "form", show_form, methods=("GET", "POST"))
    return blueprint


def show_form(id: str) -> PlainResponse:
    """Show the form, or change what it says and go to the draft."""
    request, graph = get_request(), get_desk().graph
    view = graph.drafts.get_state(id).snapshot
    given = request.args if request.method == "GET" else request.form
    typed = {name: text.strip() for name, text in given.items()}
    faults: list[DraftFault] = []
    competency = typed.get("competency", "")
    if competency:
        try:
            competency = get_id(view, "competencies", competency)
        except (InputError, UnknownIdError) as error:
            faults.append(DraftFault("competency", error.detail))
    if request.method == "GET":
        status = HTTPStatus.UNPROCESSABLE_ENTITY if faults else HTTPStatus.OK
        return _send(view, id, competency, typed, faults, status)
    asked = _read(view, competency, typed, faults)
    if faults:
        return _send(view, id, competency, typed, faults, HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        change_scale(graph, get_desk().get_state(NOW).snapshot, id, asked, who=get_who())
    except (InputError, ConflictError, UnknownIdError) as error:
        told = list(list_faults(error, ("competency", "scale")))
        return _send(view, id, competency, typed, told, get_kind(error).status)
    return redirect(build_record_address("drafts", id), HTTPStatus.SEE_OTHER)


def _read(view: Snapshot, competency: str, typed: Mapping[str, str], faults: list[DraftFault]) -> ScaleChange:
    """Return what is asked; what is wrong with it is put among the faults."""
    scale, reason = typed.get("scale", ""), typed.get("reason", "")
    ranks: dict[int, int] = {}
    for name, text in typed.items():
        if name.startswith("rank") and name[4:].isdigit() and text:
            if text.isascii() and text.isdigit():
                ranks[int(name[4:])] = int(text)
            else:
                faults.append(DraftFault(name, "must be a rank, or 0"))
    wrong = check_reason(reason, may_be_empty=True)
    if wrong:
        faults.append(DraftFault("reason", f"The reason {wrong}."))
    labels = [label.strip() for label in typed.get("levels", "").splitlines() if label.strip()]
    if not competency and not labels:
        faults.append(DraftFault("levels", "must have at least one level"))
    levels = () if competency else name_levels(view, scale, labels)
    return ScaleChange(scale, competency, levels, ranks or None, reason)


def _send(
    view: Snapshot, draft_id: str, competency: str, typed: Mapping[str, str], faults: Sequence[DraftFault], status: int
) -> PlainResponse:
    draft = get_desk().graph.drafts.get(draft_id)
    form = build_form(view, (draft.id, draft.title), competency, typed.get("scale", ""), typed, faults)
    return send_page(describe_scale_change(form), status=status)
