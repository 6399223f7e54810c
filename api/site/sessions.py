"""The page of a session, with the form for what came of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.desk.desk import State
from api.desk.question import SESSION, Subject
from api.http.actors import get_actor, get_who
from api.http.context import get_desk, get_graph, get_request
from api.http.result_services import store_results
from api.http.session_results import get_results_tag
from api.pages.addresses import build_record_address
from api.pages.session import build_view, describe_session, read_results
from api.questions import load_question
from api.site.noticed import add_findings
from api.site.records import show_record
from api.site.sending import find_unchanged, send_page
from api.site.stored import lead_to
from ontology.analysis.sessions.results import ResultFault, SessionResults, get_results
from ontology.errors import FindingsError, NewelError, StaleError

__all__ = ["RECORDS", "build_blueprint"]

RECORDS = ("sessions",)
_ATTENDED: Final = "attended."
_PASSED: Final = "passed."
_CHANGED: Final = "Someone entered results meanwhile: the fields show yours, press again to store them over theirs."
_NOTHING: Final = "Say of at least one person whether they were there."


class _FaultsError(NewelError):
    """Results that cannot be stored, and why."""

    def __init__(self, faults: Sequence[ResultFault]) -> None:
        super().__init__("The results are refused as a whole; nothing was stored.")
        self.faults = tuple(faults)


@dataclass(slots=True)
class _Sent:
    """What a form holds, and what is wrong with it by person; "" for the whole."""

    entered: dict[str, tuple[str, str]] = field(default_factory=dict)
    errors: defaultdict[str, list[str]] = field(default_factory=lambda: defaultdict(list))


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("session-pages", __name__)
    blueprint.add_url_rule("/sessions/<id>", "show", show_session)
    blueprint.add_url_rule("/sessions/<id>", "enter", enter_session, methods=["POST"])
    return blueprint


def show_session(id: str) -> Response:
    """Show a session: who has a seat, who waits, what came of it."""
    state = get_desk().get_state()
    get_desk().require_subject(state, Subject(SESSION, id))
    return find_unchanged() or _send(state, id, None)


def enter_session(id: str) -> PlainResponse:
    """Store what came of a session, for all who are told of, in one commit."""
    state = get_desk().get_state()
    get_desk().require_subject(state, Subject(SESSION, id))
    sent, actor = _Sent(_read_entered()), get_actor()
    rows = read_results(sent.entered)
    if not rows:
        sent.errors[""].append(_NOTHING)
        return _send(state, id, sent)
    shown = get_request().form.get("state")

    def check(present: SessionResults) -> None:
        if get_results_tag(present) != shown:
            raise StaleError(_CHANGED)

    try:
        store_results(
            get_graph(),
            id,
            rows,
            entered_by=actor.person or actor.name,
            who=get_who(),
            today=state.today,
            refuse=_FaultsError,
            check=check,
        )
    except _FaultsError as error:
        for fault in error.faults:
            person = "" if fault.row is None else rows[fault.row].person
            sent.errors[person].append(fault.reason)
    except FindingsError as error:
        sent.errors[""] += [finding.reason for finding in error.findings if finding.severity == "error"]
    except StaleError as error:
        sent.errors[""].append(error.detail)
    else:
        return lead_to(build_record_address("sessions", id))
    return _send(get_desk().get_state(), id, sent)


def _read_entered() -> dict[str, tuple[str, str]]:
    """Return what the form says of each person: whether they were there, whether they passed."""
    form = get_request().form
    people = [name.removeprefix(_ATTENDED) for name in form if name.startswith(_ATTENDED)]
    return {person: (form[_ATTENDED + person], form.get(_PASSED + person, "")) for person in people}


def _send(state: State, session_id: str, sent: _Sent | None) -> Response:
    desk, actor, subject = get_desk(), get_actor(), Subject(SESSION, session_id)
    sheet, line = load_question("attendance-sheet"), load_question("waiting-list")
    if not desk.may_ask(actor, state, sheet, subject):
        return show_record("sessions", session_id)
    attendance = desk.ask(actor, state, sheet, subject, sheet.asks[SESSION]())
    waiting = desk.ask(actor, state, line, subject, line.asks[SESSION]())
    results = get_results(state.snapshot, state.snapshot.require_session(session_id))
    entered: Mapping[str, tuple[str, str]] | None = sent.entered if sent is not None else None
    errors = sent.errors if sent is not None else None
    view = build_view(attendance, waiting, results, tag=get_results_tag(results), entered=entered, errors=errors)
    status = HTTPStatus.OK if sent is None else HTTPStatus.UNPROCESSABLE_ENTITY
    page = add_findings(describe_session(view), "sessions", session_id)
    return send_page(page, status=status, is_tagged=sent is None)
