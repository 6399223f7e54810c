"""Lists of all tables, and the page of one record of those that have none of their own. Imports Flask."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from flask import Blueprint, Response, redirect
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response as PlainResponse

from api.http.arguments import read_values
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_desk, get_request, get_settings
from api.http.lists import keep_matching, list_list_parameters
from api.http.pagination import cut_page
from api.pages.record_list import Listed, build_list_view, describe_list, keep_called
from api.pages.records import build_view, describe_record, get_list_address
from api.site.registry import list_designed_records
from api.site.sending import find_unchanged, send_page

__all__ = ["build_blueprint", "get_rule"]

#: Lists that have a page of their own.
_LISTED_ELSEWHERE: Final = ("competencies", "people", "teams")


def build_blueprint() -> Blueprint:
    """Return the blueprint of the lists and the pages of records."""
    blueprint = Blueprint("records-of-tables", __name__)
    designed = list_designed_records()
    for name, collection in COLLECTIONS.items():
        if name not in _LISTED_ELSEWHERE:
            blueprint.add_url_rule(f"/{collection.name}", f"list-{name}", _build_list_view(name))
        if name not in designed:
            rule = f"/{collection.name}/{get_rule(collection)}"
            blueprint.add_url_rule(rule, f"record-{name}", _build_record_view(name))
    return blueprint


def get_rule(collection: Collection) -> str:
    """Return the part of an address that holds the id of a record: an id of several parts may hold anything."""
    return "<path:id>" if len(collection.key_names) > 1 else "<id>"


def _build_list_view(name: str) -> Callable[[], PlainResponse]:
    def view() -> PlainResponse:
        unchanged = find_unchanged()
        if unchanged is not None:
            return unchanged
        collection, snapshot, settings = COLLECTIONS[name], get_desk().get_state().snapshot, get_settings()
        arguments = get_request().args
        # a form sends every field; an empty one asks for nothing, and has no place in an address
        given = {name: text for name, text in arguments.items() if text.strip()}
        if len(given) < len(arguments):
            return redirect(get_list_address(collection.table, given))
        words = given.get("q", "")
        texts = MultiDict([pair for pair in arguments.items(multi=True) if pair[0] != "q"])
        asked = read_values(list_list_parameters(collection, settings), texts)
        page, size = asked.pop("page", 1), asked.pop("page_size", settings.page_size_default)
        items = collection.get_items(snapshot)
        if collection.is_searched and words:
            asked["q"] = words
        kept = keep_matching(collection, items, asked)
        if not collection.is_searched:
            kept = keep_called(snapshot, collection.table, kept, words)
        cut = cut_page(kept, page, size)
        listed = Listed(cut.items, cut.page, cut.last_page, cut.total)
        return send_page(
            describe_list(
                collection.table, build_list_view(snapshot, collection.table, listed, given, total=len(items))
            ),
            is_tagged=True,
        )

    return view


def _build_record_view(name: str) -> Callable[[str], Response]:
    def view(id: str) -> Response:
        unchanged = find_unchanged()
        if unchanged is not None:
            return unchanged
        collection, state = COLLECTIONS[name], get_desk().get_state()
        item = collection.get_item(state.snapshot, id)
        shown = build_view(state.snapshot, collection.table, item, state.today)
        return send_page(describe_record(collection.table, shown), is_tagged=True)

    return view
