"""The form that retires a competency, role or course in a draft."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus

from flask import Blueprint, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.naming import get_id
from api.desk.retiring import retire
from api.errors import get_kind
from api.http.actors import get_who
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_request
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault
from api.pages.retire import LINES, build_form, describe_retire
from api.reason_text import check_reason
from api.site.drafts import list_faults, make_id
from api.site.sending import send_page
from ontology.errors import ConflictError, InputError, NewelError, UnknownIdError
from ontology.model.retirable import RETIRABLE
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the form."""
    blueprint = Blueprint("retire", __name__)
    for table in RETIRABLE:
        blueprint.add_url_rule(
            f"/retire/{table}/<id>", table, show_form, methods=("GET", "POST"), defaults={"table": table}
        )
    return blueprint


def show_form(table: str, id: str) -> PlainResponse:
    """Show the form, or retire what it is about and go to the draft."""
    request, desk = get_request(), get_desk()
    state = desk.get_state()
    COLLECTIONS[table].get_item(state.snapshot, id)
    if request.method == "GET":
        typed = {"into": state.asked.draft} if state.asked.draft else {}
        return _send(state.snapshot, table, id, typed)
    typed = {name: text.strip() for name, text in request.form.items()}
    faults, takers = _read_takers(state.snapshot, table, typed)
    wrong = check_reason(typed["reason"]) if typed.get("reason") else None
    if wrong:
        faults.append(DraftFault("reason", f"The reason {wrong}."))
    if faults:
        return _send(state.snapshot, table, id, typed, faults, HTTPStatus.UNPROCESSABLE_ENTITY)
    return _retire(state.snapshot, table, id, typed, takers)


def _read_takers(
    snapshot: Snapshot, table: str, typed: Mapping[str, str]
) -> tuple[list[DraftFault], list[tuple[str, str]]]:
    """Return what is wrong, and id and carry of what takes the place; a name that means one record is that."""
    faults, takers = [], []
    for n in range(1, LINES + 1):
        text = typed.get(f"by{n}", "")
        if text:
            try:
                takers.append((get_id(snapshot, table, text), typed.get(f"carry{n}", "")))
            except (InputError, UnknownIdError) as error:
                faults.append(DraftFault(f"by{n}", error.detail))
    return faults, takers


def _retire(
    snapshot: Snapshot, table: str, record_id: str, typed: Mapping[str, str], takers: list[tuple[str, str]]
) -> PlainResponse:
    from ontology.live.retiring import Taker, plan_retirement  # brings the store

    graph = get_desk().graph
    chosen = [Taker(*one) for one in takers]
    try:
        into = typed.get("into", "")
        if not into:
            # what is wrong with it is told before a draft is begun for it
            plan_retirement(snapshot, table, record_id, chosen, "", graph.store.get_today())
            into = make_id(typed.get("title", ""), {draft.id for draft in graph.drafts.list_all()})
            graph.drafts.start(into, typed.get("title", ""), who=get_who())
        retire(graph, into, table, record_id, chosen, typed.get("reason", ""), who=get_who())
    except (InputError, ConflictError, UnknownIdError) as error:
        faults = [_place(fault, error, takers, typed) for fault in list_faults(error, ("title", "replaced_by"))]
        return _send(snapshot, table, record_id, typed, faults, get_kind(error).status)
    return redirect(build_record_address("drafts", into), HTTPStatus.SEE_OTHER)


def _place(fault: DraftFault, error: NewelError, takers: list[tuple[str, str]], typed: Mapping[str, str]) -> DraftFault:
    """Return a fault at the field it is about: what takes the place is typed in one of several."""
    if fault.field != "replaced_by":
        return fault
    value = str(error.context.get("value", "")).partition(":")[0]
    lines = [n for n in range(1, LINES + 1) if typed.get(f"by{n}")]
    at = next((n for n, (one, _) in zip(lines, takers, strict=True) if one == value), None)
    return DraftFault("" if at is None else f"by{at}", f"{value}: {fault.reason[0].lower()}{fault.reason[1:]}.")


def _send(
    snapshot: Snapshot,
    table: str,
    record_id: str,
    typed: Mapping[str, str],
    faults: list[DraftFault] | None = None,
    status: int = 200,
) -> PlainResponse:
    drafts = [(draft.id, draft.title) for draft in get_desk().graph.drafts.list_all() if draft.state == "open"]
    form = build_form(snapshot, table, record_id, drafts, typed, faults or ())
    return send_page(describe_retire(form), status=status)
