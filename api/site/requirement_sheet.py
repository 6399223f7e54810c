"""All that a role asks, changed in one sheet and stored in one commit."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any, Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.errors import FieldError, FieldsError, get_kind
from api.http.actors import get_who
from api.http.collection import COLLECTIONS
from api.http.context import get_graph, get_request
from api.http.etags import compute_etag, require_state
from api.http.record_services import change_items
from api.http.stale_records import find_last_commit
from api.json_text import dump_json
from api.pages.addresses import build_record_address
from api.pages.record_conflict import build_conflict_view, describe_conflict
from api.pages.requirement_sheet import (
    TypedRow,
    build_sheet_view,
    describe_sheet,
    find_row_faults,
    flatten,
    list_rows,
    read_row,
    read_rows,
)
from api.site.sending import send_page
from api.site.sent_form import Sent, check_sent, get_here, read_sent, require_state_told
from api.site.stored import lead_to
from ontology.errors import ConflictError, InputError, NewelError, StaleError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]

_TABLE: Final = "requirements"
#: The form's own fields; no field of a row is called so, since rows have a number in front.
_STATE: Final = "state"
_READ: Final = "read"


def build_blueprint() -> Blueprint:
    """Return the blueprint of the sheet."""
    blueprint = Blueprint("requirement-sheet", __name__)
    blueprint.add_url_rule("/edit/roles/<id>/requirements", "sheet", show_sheet, methods=("GET", "POST"))
    return blueprint


def show_sheet(id: str) -> PlainResponse:
    """Show the sheet of a role, or store it."""
    snapshot = get_graph().get_snapshot()
    snapshot.require_role(id)
    present = _dump(snapshot, id)
    if get_request().method == "GET":
        view = build_sheet_view(snapshot, id, list_rows(present), action=get_here(), hidden=_hide(id, present))
        return send_page(describe_sheet(view))
    sent = read_sent(None)
    rows, others = read_rows(snapshot, sent.typed)
    shown = {str(members["competency"]): members for members in present}
    kept = [row for row in rows if not row.is_gone]
    read = {row.number: read_row(row, id, shown.get(row.competency)) for row in kept}
    wrong = {f"{number}.{name}": reason for number, (_, faults) in read.items() for name, reason in faults.items()}
    state = require_state_told(sent)
    try:
        check_sent(sent)
        if others:
            raise FieldsError("", [FieldError(f"/{name}", text, "is not known here") for name, text in others.items()])
        change_items(
            get_graph(),
            COLLECTIONS[_TABLE],
            [body for body, _ in read.values()],
            [_find(snapshot, id, row.competency) for row in rows if row.is_gone and row.competency in shown],
            who=get_who(),
            why=f"changed roles/{id}/requirements" + (f": {sent.note}" if sent.note else ""),
            check=lambda now: require_state(state, _compute_tag(id, _dump(now, id))),
        )
    except StaleError:
        return _send_conflict(id, sent, rows)
    except (InputError, ConflictError) as error:
        faults = find_row_faults(snapshot, error, id, rows, wrong)
        return _send_again(id, sent, rows, faults, error)
    return lead_to(build_record_address("roles", id))


def _dump(snapshot: Snapshot, role_id: str) -> list[dict[str, Any]]:
    return [COLLECTIONS[_TABLE].dump_item(item) for item in snapshot.get_requirements(role_id)]


def _find(snapshot: Snapshot, role_id: str, competency_id: str) -> Any:
    return snapshot.get_record(_TABLE, (role_id, competency_id))


def _compute_tag(role_id: str, version: Sequence[Mapping[str, Any]]) -> str:
    return compute_etag(f"/api/roles/{role_id}/requirements", "application/json", dump_json(list(version)))


def _hide(role_id: str, version: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, str], ...]:
    read = json.dumps({_TABLE: version}, ensure_ascii=False, separators=(",", ":"))
    return (_STATE, _compute_tag(role_id, version)), (_READ, read)


def _send_again(
    role_id: str, sent: Sent, rows: Sequence[TypedRow], faults: Sequence[Any], error: NewelError
) -> Response:
    hidden = ((_STATE, sent.state or ""), (_READ, json.dumps(sent.read)))
    snapshot, path = get_graph().get_snapshot(), get_here()
    view = build_sheet_view(snapshot, role_id, rows, action=path, hidden=hidden, why=sent.note, faults=faults)
    return send_page(describe_sheet(view), status=get_kind(error).status)


def _send_conflict(role_id: str, sent: Sent, rows: Sequence[TypedRow]) -> Response:
    """Return the page with what differs between the sheet as it was read, as it is now, and as it was typed."""
    snapshot = get_graph().get_snapshot()
    present = _dump(snapshot, role_id)
    was = sent.read.get(_TABLE, ()) if sent.read is not None else None
    read, read_labels = flatten(snapshot, was) if was is not None else (None, {})
    now, labels = flatten(snapshot, present)
    mine, my_labels = flatten(snapshot, [row.texts for row in rows if not row.is_gone])
    view = build_conflict_view(
        f"What {snapshot.roles[role_id].label} asks",
        {**read_labels, **labels, **my_labels},
        (read, now, mine),
        sent=[*sent.typed.items(), *_hide(role_id, present), *([("why", sent.note)] if sent.note else [])],
        action=get_here(),
        keep=build_record_address("roles", role_id),
        revision=snapshot.revision,
        last=find_last_commit(COLLECTIONS["roles"], snapshot.roles[role_id]),
        is_short=True,
    )
    return send_page(describe_conflict(COLLECTIONS[_TABLE].table, view), status=HTTPStatus.PRECONDITION_FAILED)
