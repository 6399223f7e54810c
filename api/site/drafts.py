"""The pages of drafts: all, one, the form that begins one, and what one does with one."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode, urlsplit

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.drafts import list_drafts
from api.desk.history import AskRows
from api.desk.states import NOW
from api.errors import FieldsError, get_kind
from api.http.actors import get_who
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request, get_settings
from api.http.draft_services import find_number, get_tag, publish, read_present_draft, read_take
from api.http.own_paths import find_own_path
from api.http.pagination import cut_page
from api.pages.addresses import build_record_address
from api.pages.draft_faults import DraftFault
from api.pages.drafts import NewDraft, build_draft_page, describe_draft, describe_drafts, describe_new_draft
from api.pages.page import Link
from api.reason_text import require_reason
from api.site.sending import send_page
from ontology.errors import ConflictError, FindingsError, InputError, NewelError, StaleError

__all__ = ["build_blueprint", "list_faults", "make_id", "send_draft"]

_LONGEST_ID: Final = 60
_UNFIT: Final = re.compile(r"[^a-z0-9]+")


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("pages-of-drafts", __name__)
    blueprint.add_url_rule("/drafts", "list", show_drafts)
    blueprint.add_url_rule("/new/drafts", "new", start_draft, methods=("GET", "POST"))
    blueprint.add_url_rule("/drafts/<id>", "show", show_draft)
    for part, act in (
        ("publication", _publish),
        ("rebase", _rebase),
        ("withdrawal", _withdraw),
        ("opening", _open),
        ("removal", _delete),
    ):
        blueprint.add_url_rule(f"/drafts/<id>/{part}", part, _build_act(act), methods=("POST",))
    return blueprint


def show_drafts() -> Response:
    """Show all drafts."""
    desk = get_desk()
    state = desk.get_state(NOW)
    return send_page(describe_drafts(list_drafts(desk.graph, state), state.snapshot.revision))


def show_draft(id: str) -> Response:
    """Show one draft."""
    return send_draft(id)


def start_draft() -> PlainResponse:
    """Show the form that begins a draft, or begin it and go to where it is edited."""
    request = get_request()
    given = request.args if request.method == "GET" else request.form
    title, draft_id, base, undo_of, to = (
        given.get(name, "").strip() for name in ("title", "id", "base", "undo_of", "to")
    )
    form = NewDraft(title=title, id=draft_id, base=base, undo_of=undo_of, to=to)
    if request.method == "GET":
        if form.undo_of and not form.title:
            form = replace(form, title=f"Take back {undo_of}")
        return send_page(describe_new_draft(form))
    drafts = get_desk().graph.drafts
    draft_id = draft_id or make_id(title, {draft.id for draft in drafts.list_all()})
    try:
        draft = drafts.start(draft_id, title, who=get_who(), base=base or None, undo_of=undo_of or None)
    except (InputError, ConflictError) as error:
        refused = replace(form, faults=tuple(list_faults(error, ("title", "id", "base"))))
        return send_page(describe_new_draft(refused), status=get_kind(error).status)
    return redirect(_find_way(to, draft.id), HTTPStatus.SEE_OTHER)


def _find_way(to: str, draft_id: str) -> str:
    """Return where one goes on: to the page one wanted to change, on the draft; else to the draft."""
    if find_own_path(to) == "/":
        return build_record_address("drafts", draft_id)
    return f"{to}{'&' if urlsplit(to).query else '?'}{urlencode({'draft': draft_id})}"


def make_id(title: str, known: set[str]) -> str:
    """Return an id made of a title that no draft has yet."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    stem = _UNFIT.sub("-", plain).strip("-")[:_LONGEST_ID].strip("-") or "draft"
    if stem not in known:
        return stem
    return next(f"{stem}-{n}" for n in range(2, len(known) + 3) if f"{stem}-{n}" not in known)


Act = Callable[[str, int], str]


def _build_act(act: Act) -> Callable[[str], PlainResponse]:
    """Return the view that does something with a draft as it was read, and then shows where one goes on."""

    def view(id: str) -> PlainResponse:
        try:
            draft = get_desk().graph.drafts.get(id)
            number = find_number(get_request().form.get("tag", ""), draft)
            return redirect(act(id, number), HTTPStatus.SEE_OTHER)
        except (InputError, ConflictError) as error:
            return send_draft(id, list_faults(error, ("version", "reason")), get_kind(error).status)

    return view


def _publish(draft_id: str, number: int) -> str:
    version, reason = (get_request().form.get(name, "").strip() for name in ("version", "reason"))
    faults = check_texts(reason)
    publish(draft_id, version=version, reason=reason, expected_number=number, faults=faults)
    return "/releases"


def check_texts(reason: str) -> dict[str, NewelError]:
    """Return what is wrong with the reason that a form gives, at its field."""
    try:
        require_reason(reason)
    except InputError as error:
        return {"reason": error}
    return {}


def _rebase(draft_id: str, number: int) -> str:
    form = get_request().form
    side = form.get("take")
    if side not in (None, "draft", "published"):
        raise InputError("Decide for the draft or for what is published.", parameter="take", value=side)
    one = [{"table": form["table"], "id": form["id"], "column": form.get("column"), "value": side}]
    take = read_take(side if form.get("all") else None, one if side and "table" in form else ())
    get_desk().graph.drafts.rebase(draft_id, take, who=get_who(), expected_number=number)
    return build_record_address("drafts", draft_id)


def _withdraw(draft_id: str, number: int) -> str:
    get_desk().graph.drafts.withdraw(draft_id, who=get_who(), expected_number=number)
    return build_record_address("drafts", draft_id)


def _open(draft_id: str, number: int) -> str:
    get_desk().graph.drafts.open(draft_id, who=get_who(), expected_number=number)
    return build_record_address("drafts", draft_id)


def _delete(draft_id: str, number: int) -> str:
    get_desk().graph.drafts.delete(draft_id, expected_number=number)
    return "/drafts"


def list_faults(error: NewelError, fields: Sequence[str]) -> list[DraftFault]:
    """Return what an error says of a form, and those found with it, each at its field where it has one of these."""
    return [fault for one in error.list_all() for fault in _list_own_faults(one, fields)]


def _list_own_faults(error: NewelError, fields: Sequence[str]) -> list[DraftFault]:
    if isinstance(error, FindingsError):
        return [DraftFault("", one.reason) for one in error.findings if one.severity == "error"]
    if isinstance(error, FieldsError):
        return [DraftFault("", one.reason) for one in error.fields]
    if isinstance(error, StaleError):
        return [DraftFault("", f"{error.detail.rstrip('.')}. What stands here now is how it is.")]
    name: Any = error.context.get("parameter")
    reason = str(error.context.get("reason") or error.detail)
    return [DraftFault(name if name in fields else "", reason[:1].upper() + reason[1:])]


def send_draft(draft_id: str, faults: Sequence[DraftFault] = (), status: int = 200) -> Response:
    """Send the page of a draft; `faults` are of a form that was refused."""
    request, desk = get_request(), get_desk()
    view = read_present_draft(draft_id)
    # what a refused form asked is not what its page does
    asked = AskRows() if faults else read_asked(AskRows, request.args)
    page = cut_page(view.rows, asked.page, asked.get_page_size(get_settings()))
    here = build_record_address("drafts", draft_id)
    newer = Link("Rows before", f"{here}?page={page.page - 1}") if page.page > 1 else None
    older = Link("More rows", f"{here}?page={page.page + 1}") if page.page < page.last_page else None
    shown = build_draft_page(
        view,
        page.items,
        tag=get_tag(desk.graph.drafts.get(draft_id)),
        present=desk.get_state(NOW).snapshot,
        edits=desk.graph.drafts.list_edits(draft_id),
        pages=(newer, older),
        faults=faults,
        typed=request.values.to_dict(),
    )
    return send_page(describe_draft(shown), status=status)
