"""The pages of the history: all changes, what one changed, the life of a record, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final
from urllib.parse import urlencode

from flask import Blueprint, Response

from api.desk.history import AskHistory, AskRows, list_commits, read_one_commit, tell_commits
from api.desk.sheet import Sheet
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request, get_settings
from api.http.history import read_life_view
from api.http.pagination import Page as Rows
from api.http.pagination import cut_page
from api.pages.addresses import build_record_address
from api.pages.ask_form import Field, list_fields
from api.pages.history_view import LifeView, link_commits, show_commits, show_life, show_one
from api.pages.page import Link, Way
from api.pages.sheet_page import describe_plain_sheet
from api.site.sending import find_unchanged, send_page
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

__all__ = ["build_blueprint"]

#: Of so many of the latest changes of a page one can be taken back from here.
_TAKEN_BACK: Final = 3
_FRAMEWORK: Final = Link("Framework", "/framework")
_ALL: Final = Link("All changes", "/history")


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages."""
    blueprint = Blueprint("history-of-records", __name__)
    blueprint.add_url_rule("/history", "all", show_all)
    blueprint.add_url_rule("/history/<int:revision>", "one", show_revision)
    blueprint.add_url_rule("/history/<table>/<path:id>", "life", show_history)
    return blueprint


def show_all() -> Response:
    """Show all changes, a page of them at a time."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk, request = get_desk(), get_request()
    state = desk.get_state()
    asked = read_asked(AskHistory, request.args)
    asked.check(state.snapshot)
    page = cut_page(list_commits(desk.graph, state, asked), asked.page, asked.get_page_size(get_settings()))
    sheet = link_commits(show_commits(tell_commits(desk.graph, page.items)), page.total)
    texts = {name: text for name, text in request.args.items() if text and name != "page"}
    acts = [("Compare two states of the framework", "/compare"), *_turn("/history", page, texts)]
    fields = [one for one in list_fields(AskHistory, texts, state.snapshot) if one.name not in ("page", "page_size")]
    return _send(sheet, "/history", acts, fields=fields)


def show_revision(revision: int) -> Response:
    """Show what one revision changed."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    desk = get_desk()
    one = read_one_commit(desk.graph, desk.get_state(), revision)
    asked = read_asked(AskRows, get_request().args)
    page = cut_page(one.rows, asked.page, asked.get_page_size(get_settings()))
    here = f"/history/{revision}"
    acts = [("Take it back by a draft", f"/new/drafts?undo_of={revision}")] if one.rows else []
    return _send(show_one(replace(one, rows=tuple(page.items))), here, [*acts, *_turn(here, page, {})], trail=(_ALL,))


def _send(
    sheet: Sheet,
    here: str,
    acts: Sequence[tuple[str, str]],
    *,
    fields: Sequence[Field] = (),
    trail: Sequence[Link] = (),
) -> Response:
    revision = get_desk().get_state().snapshot.revision
    page = describe_plain_sheet(sheet, here, revision, acts=acts, fields=fields, trail=(_FRAMEWORK, *trail))
    return send_page(page, is_tagged=True)


def _turn(here: str, page: Rows[Any], texts: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield the ways to the pages beside this one."""
    steps = (("Older", 1, page.page < page.last_page), ("Newer", -1, page.page > 1))
    for words, step, is_there in steps:
        if is_there:
            yield words, f"{here}?{urlencode({**texts, 'page': page.page + step, 'page_size': page.page_size})}"


def show_history(table: str, id: str) -> Response:
    """Show the life of a record."""
    unchanged = find_unchanged()
    if unchanged is not None:
        return unchanged
    state = get_desk().get_state()
    view = read_life_view(state, table, id)
    asked = read_asked(AskRows, get_request().args)
    page = cut_page(view.life.rows, asked.page, asked.get_page_size(get_settings()))
    sheet = show_life(view, page.items)
    record = build_record_address(view.table, id)
    is_private = TABLES[view.table].graph == ns.GRAPH_PEOPLE
    trail = (Link(view.label, record + ("?retired=yes" if view.is_retired else "")),) if view.life.exists else ()
    way: Way = "" if is_private else "framework"
    shown = describe_plain_sheet(
        sheet,
        get_request().path,
        state.snapshot.revision,
        acts=list(_list_acts(view, record, page)),
        data=f"/api/history{record}",
        way=way,
        trail=trail,
        is_private=is_private,
    )
    return send_page(shown, is_tagged=True)


def _list_acts(view: LifeView, record: str, page: Rows[Any]) -> Iterator[tuple[str, str]]:
    """Yield where to go from here: words and addresses."""
    if view.life.exists:
        yield ("See it as it last stood", f"{record}?retired=yes") if view.is_retired else ("See it as it is", record)
    if TABLES[view.table].graph != ns.GRAPH_PEOPLE:
        yield "All changes", "/history"
        yield "Compare two states of the framework", "/compare"
        revisions = list(dict.fromkeys(commit.revision for commit, _ in page.items))
        for revision in revisions[:_TAKEN_BACK]:
            yield f"Take revision {revision} back by a draft", f"/new/drafts?undo_of={revision}"
    here = f"/history{record}"
    if page.page < page.last_page:
        yield "Older changes", f"{here}?page={page.page + 1}&page_size={page.page_size}"
    if page.page > 1:
        yield "Newer changes", f"{here}?page={page.page - 1}&page_size={page.page_size}"
