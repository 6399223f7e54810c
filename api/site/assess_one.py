"""Recording one assessment: the form of its table, with what counts now beside it.

What a manager says above an assessor where safety counts is said first, and stored only when it is sent again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.access.actor import Actor
from api.errors import FieldError, FieldsError, get_kind
from api.http.actors import get_actor, get_who
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_graph, get_request
from api.http.record_services import create_item
from api.pages.assess import find_default_source, tell_manager_remark
from api.pages.assess_one import build_view, describe_one, is_own_word
from api.pages.forms.faults import Fault, find_faults
from api.pages.forms.form import Body, fill_defaults
from api.pages.record_form import build_form_view, list_labels, read_form
from api.site.record_conflicts import tell_users
from api.site.record_forms import go_to
from api.site.sending import send_page
from api.site.sent_form import check_sent, read_filled, read_sent
from api.site.stored import lead_to
from ontology.errors import ConflictError, InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]

_COLLECTION: Final = COLLECTIONS["assessments"]
_TABLE: Final = _COLLECTION.table
_HEARD: Final = "heard"


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("assessing-one", __name__)
    blueprint.add_url_rule("/new/assessments", "show", show_form)
    blueprint.add_url_rule("/new/assessments", "store", store, methods=["POST"])
    return blueprint


def show_form() -> Response:
    """Show the form, filled with what the address says; names stand for ids."""
    actor, state = get_actor(), get_desk().get_state()
    filled = {name: text for name, text in read_filled(_COLLECTION, {"on": "date"}).items() if text}
    ids = read_form(state.snapshot, _TABLE, filled, None).members
    texts = {"date": str(state.today)} | fill_defaults(_TABLE, filled)
    texts |= {name: str(ids[name]) for name in ("person", "competency") if name in filled}
    if "source" not in filled:
        competency = state.snapshot.competencies.get(texts.get("competency", ""))
        is_certificate = competency is not None and competency.is_certificate
        texts["source"] = "certificate" if is_certificate else find_default_source(state.snapshot, actor.person)
    if actor.person:
        texts["assessor"] = actor.person
    return _send(state.snapshot, texts)


def store() -> PlainResponse:
    """Store the assessment, or show what is wrong with it, or what must be read first."""
    actor, snapshot = get_actor(), get_graph().get_snapshot()
    sent = read_sent(_TABLE)
    heard = sent.typed.pop(_HEARD, "")
    typed = sent.typed
    if actor.person:
        typed["assessor"] = "" if typed.get("source") in ("certificate", "self") else actor.person
    body = read_form(snapshot, _TABLE, typed, None)
    is_own = is_own_word({name: str(text) for name, text in body.members.items()}, actor.person)
    try:
        check_sent(sent)
        if not is_own:
            _require_another(body, actor)
        remark = _find_remark(snapshot, body)
        if remark and heard != remark:
            return _send(snapshot, typed, remark=remark)
        written = create_item(get_graph(), _COLLECTION, body.members, who=get_who())
    except (InputError, ConflictError) as error:
        return _send(snapshot, typed, faults=_find_faults(error, body, typed), status=get_kind(error).status)
    return lead_to("/me") if is_own else go_to(_COLLECTION, written.item)


def _find_faults(error: InputError | ConflictError, body: Body, typed: Mapping[str, str]) -> Sequence[Fault]:
    """Return what is wrong, each at its field; what is there already, by its page."""
    if isinstance(error, ConflictError):
        return tell_users(_COLLECTION, get_graph().get_snapshot(), error)[0]
    key = [str(body.members.get(name)) for name in _COLLECTION.key_names]
    return find_faults(error, _TABLE, key, body.wrong, list(list_labels(_TABLE, typed)))


def _require_another(body: Body, actor: Actor) -> None:
    """Raise FieldsError where someone would assess themselves."""
    if actor.person and body.members.get("person") == actor.person:
        reason = "is who assesses: nobody assesses themselves"
        raise FieldsError("Nobody assesses themselves.", [FieldError("/person", actor.person, reason)])


def _find_remark(snapshot: Snapshot, body: Body) -> str:
    """Return what must be said before it is stored; "" where nothing must."""
    told = body.members
    competency, level = snapshot.competencies.get(str(told.get("competency"))), told.get("level")
    if competency is None or not isinstance(level, int):
        return ""
    person, source, on = str(told.get("person")), str(told.get("source")), get_desk().get_state().today
    return tell_manager_remark(snapshot, person, competency, level=level, source=source, on=on)


def _send(
    snapshot: Snapshot, texts: Mapping[str, str], *, remark: str = "", faults: Sequence[Fault] = (), status: int = 200
) -> Response:
    hidden = ((_HEARD, remark),) if remark else ()
    form = build_form_view(snapshot, _TABLE, texts, item=None, action=get_request().path, hidden=hidden, faults=faults)
    form = replace(form, heading="Record an assessment")
    today = get_desk().get_state().today
    view = build_view(form, snapshot, today, own_id=get_actor().person, remark=remark)
    return send_page(describe_one(view), status=status)
