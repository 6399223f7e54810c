"""Recording the levels of a team at once, on one sheet.

What a manager says above an assessor where safety counts is said first, and stored only when it is sent again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import Any, Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.access.actor import Actor
from api.desk.kinds import CompetencyId, PersonId
from api.desk.parameters import Asks, param
from api.desk.question import TEAM, Subject
from api.errors import FieldError
from api.http.actors import get_actor, get_who, note_look
from api.http.arguments import read_asked
from api.http.assessment_services import RowsError, store_assessments
from api.http.context import get_desk, get_graph, get_request
from api.pages.addresses import build_address
from api.pages.assess import Entry, find_default_source, tell_manager_remark
from api.pages.assess_sheet import (
    Filled,
    build_sheet_view,
    describe_sheet,
    list_pairs,
)
from api.site.question_pages import read_filled
from api.site.sending import send_page
from api.site.stored import lead_to
from ontology.errors import FindingsError
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]

_METHODS: Final = ("GET", "POST")
_LEVEL: Final = "level."
#: Columns that stand once above all rows.
_ABOVE: Final = ("date", "source")
_LOCKED: Final = "Nobody assesses themselves; nothing was stored."
_NOTHING: Final = "No level is entered: choose one for at least one row."


@dataclass(frozen=True, kw_only=True)
class AskSheet(Asks):
    """Of which competency, or of which person."""

    competency: CompetencyId | None = param("The competency that everyone is assessed in.", default=None)
    person: PersonId | None = param("The person who is assessed.", default=None)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("assessing", __name__)
    blueprint.add_url_rule("/teams/<id>/assess", "sheet", show_sheet, methods=_METHODS)
    return blueprint


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of a sheet with something entered."""

    key: str
    person: str
    competency: Competency
    text: str


def show_sheet(id: str) -> PlainResponse:
    """Show the sheet of a team, or store what was entered on it."""
    desk, actor = get_desk(), get_actor()
    state = desk.get_state()
    desk.require_subject(state, Subject(TEAM, id))
    snapshot = state.snapshot
    is_sent = get_request().method == "POST"
    form = get_request().form
    asked = read_asked(AskSheet, read_filled(AskSheet)) if not is_sent else None
    competency = (form.get("competency", "") if asked is None else asked.competency) or ""
    person = (form.get("person", "") if asked is None else asked.person) or ""
    _require_known(snapshot, competency, person)
    person = "" if competency else person
    source = "certificate" if competency and snapshot.competencies[competency].is_certificate else ""
    filled = Filled(str(state.today), source or find_default_source(snapshot, actor.person), {})
    if is_sent and (competency or person):
        about, pairs = list_pairs(snapshot, id, state.today, person=person, competency=competency)
        keys = [(who if about == "person" else what.id, who, what) for who, what in pairs]
        rows = [_Row(key, who, what, form.get(_LEVEL + key, "")) for key, who, what in keys]
        filled, items = _take(snapshot, actor, [row for row in rows if row.text])
        if items is not None:
            asks = {"competency": competency} if competency else {"person": person}
            return lead_to(build_address("teams", id, "assess", asks))
    if competency or person:
        _, shown = list_pairs(snapshot, id, state.today, person=person, competency=competency)
        note_look(actor, "assessments", frozenset(who for who, _ in shown))
    view = build_sheet_view(
        snapshot, id, state.today, person=person, competency=competency, own_id=actor.person, filled=filled
    )
    return _send(describe_sheet(view), filled)


def _require_known(snapshot: Snapshot, competency: str, person: str) -> None:
    """Raise UnknownIdError for a competency or a person that does not exist; empty ones are not chosen yet."""
    if competency:
        snapshot.require_competency(competency)
    if person:
        snapshot.require_person(person)


def _take(snapshot: Snapshot, actor: Actor, rows: Sequence[_Row]) -> tuple[Filled, Sequence[Any] | None]:
    """Store the rows of a form that was sent, in one commit.

    Returns
    -------
    pair
        The form as it comes back, and what was stored: None where nothing was, for something is wrong or must be read
        first.
    """
    form = get_request().form
    above = {name: form.get(name, "").strip() for name in _ABOVE}
    filled = Filled(above["date"], above["source"], {row.key: Entry(row.text) for row in rows})
    if not rows:
        return replace(filled, errors=(_NOTHING,)), None
    bodies = [_build_body(row, above, actor) for row in rows]
    wrong = {at: (_LOCKED,) for at, row in enumerate(rows) if row.person == actor.person}
    if wrong:
        return _mark(filled, rows, wrong), None
    remarks = {row.key: _tell_remark(snapshot, row, body) for row, body in zip(rows, bodies, strict=True)}
    heard = "|".join(f"{row.key}={row.text}" for row in rows if remarks[row.key])
    if heard and form.get("heard", "") != heard:
        entries = {key: replace(entry, remark=remarks[key]) for key, entry in filled.entries.items()}
        return replace(filled, entries=entries, heard=heard), None
    try:
        return filled, store_assessments(get_graph(), bodies, who=get_who()).items
    except RowsError as error:
        return _mark(filled, rows, {at: tuple(map(_tell, found)) for at, found in error.by_row.items()}), None
    except FindingsError as error:
        return replace(filled, errors=tuple(finding.reason for finding in error.findings)), None


def _build_body(row: _Row, above: Mapping[str, str], actor: Actor) -> dict[str, Any]:
    """Return an assessment as REST takes it: of a certificate nobody is the assessor."""
    source = "certificate" if row.competency.is_certificate else above["source"]
    text = row.text.strip()
    return {
        "person": row.person,
        "competency": row.competency.id,
        "level": int(text) if text.isascii() and text.isdigit() and len(text) < 10 else text,
        "date": above["date"],
        "source": source,
        "assessor": "" if source == "certificate" else actor.person or actor.name,
    }


def _tell_remark(snapshot: Snapshot, row: _Row, body: Mapping[str, Any]) -> str:
    """Return what must be said of a row before it is stored; "" where nothing must."""
    if not isinstance(body["level"], int):
        return ""
    on = get_desk().get_state().today
    about = {"level": body["level"], "source": body["source"], "on": on}
    return tell_manager_remark(snapshot, row.person, row.competency, **about)


def _tell(error: FieldError) -> str:
    column = error.pointer.removeprefix("/").replace("_", " ")
    return f"{column}: {error.reason}" if column else error.reason


def _mark(filled: Filled, rows: Sequence[_Row], wrong: Mapping[int, tuple[str, ...]]) -> Filled:
    """Return the form with what is wrong at its rows."""
    errors = {rows[at].key: told for at, told in wrong.items()}
    entries = {key: replace(entry, errors=errors.get(key, ())) for key, entry in filled.entries.items()}
    return replace(filled, entries=entries)


def _send(page: Any, filled: Filled) -> Response:
    is_wrong = bool(filled.errors) or any(entry.errors for entry in filled.entries.values())
    return send_page(page, status=HTTPStatus.UNPROCESSABLE_ENTITY if is_wrong else HTTPStatus.OK)
