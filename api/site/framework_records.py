"""The pages of one competency, role, course or scale."""

from __future__ import annotations

from typing import Any, Final, TypeVar

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.desk.desk import State
from api.desk.draft_states import find_faults
from api.desk.extents import find_extent
from api.desk.parameters import Asks
from api.desk.question import COMPETENCY, ROLE, Subject
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_request
from api.pages.competency import build_view as build_competency_view
from api.pages.competency import describe_competency
from api.pages.course import build_view as build_course_view
from api.pages.course import describe_course
from api.pages.framework_parts import FrameworkView, add_last_change
from api.pages.page import Page
from api.pages.role import build_view as build_role_view
from api.pages.role import describe_role
from api.pages.scale import build_view as build_scale_view
from api.pages.scale import describe_scale
from api.questions import load_question
from api.site.drawing import draw_record
from api.site.noticed import add_below
from api.site.records import show_record
from api.site.retired import find_retired_page
from api.site.sending import find_unchanged, send_page
from ontology.analysis.profiles.similarity import DEFAULT_SIMILAR
from ontology.store.history import Commit

__all__ = ["RECORDS", "build_blueprint"]

_View = TypeVar("_View", bound=FrameworkView)

#: The tables whose records have their page here.
RECORDS: Final = ("competencies", "roles", "courses", "scales")


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages of single records of the framework."""
    blueprint = Blueprint("framework-records", __name__)
    for table, view in zip(RECORDS, (show_competency, show_role, show_course, show_scale), strict=True):
        blueprint.add_url_rule(f"/{table}/<id>", table, view)
    return blueprint


def show_competency(id: str) -> PlainResponse:
    """Show what a competency is, who asks it, what teaches it, how many hold it."""
    told = find_retired_page("competencies", id) or _read_and_compare() or _show_plainly("competencies", id)
    if told is not None:
        return told
    state, subject = get_desk().get_state(), Subject(COMPETENCY, id)
    get_desk().require_subject(state, subject)
    held = _ask(state, "holders", subject) if _may_ask(state, "holders", subject) else None
    view = _tell_last(build_competency_view(state.snapshot, id, held, not state.unseen), state, "competencies", id)
    return _send(
        describe_competency(view, draw_record(subject, "Courses, levels and roles, each leads to its page.")),
        "competencies",
        id,
    )


def show_role(id: str) -> PlainResponse:
    """Show what a role asks."""
    told = find_retired_page("roles", id) or _read_and_compare() or _show_plainly("roles", id)
    if told is not None:
        return told
    state, subject = get_desk().get_state(), Subject(ROLE, id)
    get_desk().require_subject(state, subject)
    alike = _ask(state, "similar", subject, limit=DEFAULT_SIMILAR).roles
    places = state.snapshot.get_places_of_role(id) or (None if state.sight is not None else ())
    view = _tell_last(build_role_view(state.snapshot, id, alike, places), state, "roles", id)
    return _send(describe_role(view, draw_record(subject, "Every competency leads to its page.")), "roles", id)


def show_course(id: str) -> PlainResponse:
    """Show what a course reaches and asks, and when it is held next."""
    told = find_retired_page("courses", id) or _read_and_compare() or _show_plainly("courses", id)
    if told is not None:
        return told
    state = get_desk().get_state()
    view = _tell_last(build_course_view(state.snapshot, id, state.today), state, "courses", id)
    return _send(describe_course(view), "courses", id)


def show_scale(id: str) -> Response:
    """Show what is seen at each level of a scale."""
    unchanged = _read_and_compare()
    if unchanged is not None:
        return unchanged
    state = get_desk().get_state()
    view = _tell_last(build_scale_view(state.snapshot, id), state, "scales", id)
    return _send(describe_scale(view), "scales", id)


def _read_and_compare() -> Response | None:
    """Refuse what cannot be asked here; return 304 where the browser has the page already."""
    read_asked(Asks, get_request().args)
    return find_unchanged()


def _show_plainly(table: str, record_id: str) -> Response | None:
    """Return the page of a record by its columns where a draft has errors: what else is on its page rests on others."""
    desk = get_desk()
    return show_record(table, record_id) if find_faults(desk.graph, desk.get_state()) else None


def _may_ask(state: State, name: str, subject: Subject) -> bool:
    return find_extent(get_actor(), state, load_question(name), subject) is not None


def _ask(state: State, name: str, subject: Subject, **asked: Any) -> Any:
    """Return the result of a question, asked at the desk."""
    question = load_question(name)
    return get_desk().ask(get_actor(), state, question, subject, question.asks[subject.kind](**asked)).result


def _tell_last(view: _View, state: State, table: str, record_id: str) -> _View:
    """Return the page of a record with when it changed last; that is looked up once for each state."""

    def find() -> Commit | None:
        # brings an RDF library: only who reads such a page needs it
        from ontology.history.last_change import find_last_change

        present = get_desk().graph.get_snapshot()
        if "draft" in state.asked.texts and COLLECTIONS[table].find_item(present, record_id) is None:
            return None  # of the draft alone
        revision = state.told.revision if state.told is not None else state.snapshot.revision
        return find_last_change(get_desk().graph, revision, table, (record_id,))

    return add_last_change(view, state.snapshot.keep(("last change", table, record_id), find))


def _send(page: Page, table: str, record_id: str) -> Response:
    return send_page(add_below(page, table, record_id), is_tagged=True)
