"""The page of a record's life: what changed of it, when, by whom and why, in words. Imports Flask."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from flask import Blueprint, Response

from api.desk.history import AskRows
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request, get_settings
from api.http.history import read_life_view
from api.http.pagination import Page as Rows
from api.http.pagination import cut_page
from api.pages.addresses import build_record_address
from api.pages.history_view import LifeView, show_life
from api.pages.page import Link, Page, Way
from api.site.sending import find_unchanged, send_page
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

__all__ = ["build_blueprint"]

#: Of so many of the latest changes of a page one can be taken back from here.
_TAKEN_BACK: Final = 3


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("history-of-records", __name__)
    blueprint.add_url_rule("/history/<table>/<path:id>", "life", show_history)
    return blueprint


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
    values = {
        "sheet": sheet,
        "pairs": [],
        "acts": list(_list_acts(view, record, page)),
        "revision": state.snapshot.revision,
        "is_linked": True,
        "here": get_request().path,
        "files": [("JSON", f"/api/history{record}")],
        "fields": (),
        "figure": None,
    }
    trail = (Link(view.label, record + ("?retired=yes" if view.is_retired else "")),) if view.life.exists else ()
    way: Way = "" if is_private else "framework"
    return send_page(Page("sheet.html", values, way=way, trail=trail, is_private=is_private), is_tagged=True)


def _list_acts(view: LifeView, record: str, page: Rows[Any]) -> Iterator[tuple[str, str]]:
    """Yield where to go from here: words and addresses."""
    if view.life.exists:
        yield ("See it as it last stood", f"{record}?retired=yes") if view.is_retired else ("See it as it is", record)
    if TABLES[view.table].graph != ns.GRAPH_PEOPLE:
        yield "Compare two states of the framework", "/compare"
        revisions = list(dict.fromkeys(commit.revision for commit, _ in page.items))
        for revision in revisions[:_TAKEN_BACK]:
            yield f"Take revision {revision} back by a draft", f"/new/drafts?undo_of={revision}"
    here = f"/history{record}"
    if page.page < page.last_page:
        yield "Older changes", f"{here}?page={page.page + 1}&page_size={page.page_size}"
    if page.page > 1:
        yield "Newer changes", f"{here}?page={page.page - 1}&page_size={page.page_size}"
