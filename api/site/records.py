"""Lists of all tables, and the page of one record of those that have none of their own."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.naming import take_id
from api.desk.parameters import parse_values
from api.desk.states import READ_ASIDE
from api.errors import ParameterError, WrongParameter
from api.http.actors import note_records
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_desk, get_request, get_settings
from api.http.lists import keep_matching, list_list_parameters
from api.http.pagination import cut_page
from api.pages.record_list import Listed, begins_on_a_day, build_list_view, describe_list, keep_called
from api.pages.records import build_view, describe_record, get_list_address
from api.site.noticed import add_languages
from api.site.registry import list_designed_records
from api.site.sending import find_unchanged, send_page
from ontology.model.columns import Table
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "asks_retired",
    "build_blueprint",
    "get_rule",
    "leave_out_empty",
    "read_given",
    "read_list",
    "show_list",
    "show_record",
]

#: Lists that have a page of their own.
_LISTED_ELSEWHERE: Final = ("competencies", "courses", "framework", "people", "roles", "scales", "teams")


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
        return find_unchanged() or show_list(name)

    return view


def show_list(name: str) -> PlainResponse:
    """Return the page of a table's records, of those that may be seen."""
    collection, snapshot = COLLECTIONS[name], get_desk().get_state().snapshot
    shorter = leave_out_empty(collection.table)
    if shorter is not None:
        return shorter
    given = read_given(collection.table)
    items = collection.get_items(snapshot, with_retired=asks_retired(given))
    if begins_on_a_day(collection.table):
        items = sorted(items, key=lambda record: record.from_date)
    listed, total = read_list(collection, snapshot, items, given)
    note_records(name, listed.records)
    shown = build_list_view(snapshot, collection.table, listed, given, total)
    return send_page(describe_list(collection.table, shown), is_tagged=True)


def leave_out_empty(table: Table) -> PlainResponse | None:
    """Return the way to the address as a program would ask it, or None where it is that already.

    A form sends every field: what is empty asks for nothing. A name that only one record has stands for its id.
    """
    arguments, snapshot = get_request().args, get_desk().get_state().snapshot
    refers_to = {column.name: column.refers_to for column in table.columns if table.name != "scales"}
    given = {
        name: take_id(snapshot, refers_to[name], text.strip()) if refers_to.get(name) else text
        for name, text in arguments.items()
        if text.strip()
    }
    return redirect(get_list_address(table, given)) if given != arguments.to_dict() else None


def read_given(table: Table) -> dict[str, str]:
    """Return the texts that this request's address asks of a table's records; an empty one asks for nothing.

    Raises
    ------
    ParameterError
        Something is given twice.
    """
    given = get_request().args.items(multi=True)
    # a table of languages is asked for them
    aside = READ_ASIDE - {column.name for column in table.columns}
    filled = [(name, text) for name, text in given if text.strip() and name not in aside]
    twice = [name for name, times in Counter(name for name, _ in filled).items() if times > 1]
    if twice:
        raise ParameterError(*(WrongParameter(name, get_request().args[name], "is given twice") for name in twice))
    return dict(filled)


def asks_retired(given: Mapping[str, str]) -> bool:
    """Whether an address asks for what is retired, too; what says neither yes nor no is refused where it is read."""
    return given.get("retired", "").strip().casefold() in ("yes", "true", "1")


def read_list(
    collection: Collection, snapshot: Snapshot, items: Sequence[Any], given: Mapping[str, str]
) -> tuple[Listed, int]:
    """Return those of the items that are asked for, one page of them, and how many items there are.

    Raises
    ------
    ParameterError
        A value is none of its column's, or nothing is known by a name.
    """
    settings, words = get_settings(), given.get("q", "")
    texts = {name: text for name, text in given.items() if name != "q"}
    asked = parse_values(list_list_parameters(collection, settings), texts)
    asked.pop("retired", None)
    page, size = asked.pop("page", 1), asked.pop("page_size", settings.page_size_default)
    if collection.is_searched and words:
        asked["q"] = words
    kept = keep_matching(snapshot, collection, items, asked)
    if not collection.is_searched:
        kept = keep_called(snapshot, collection.table, kept, words)
    cut = cut_page(kept, page, size)
    return Listed(cut.items, cut.page, cut.last_page, cut.total), len(items)


def _build_record_view(name: str) -> Callable[[str], Response]:
    def view(id: str) -> Response:
        return find_unchanged() or show_record(name, id)

    return view


def show_record(name: str, record_id: str, *acts: tuple[str, str]) -> Response:
    """Return the page of one record by its columns; `acts` are offered after those that every record has."""
    collection, state = COLLECTIONS[name], get_desk().get_state()
    item = collection.get_item(state.snapshot, record_id)
    note_records(name, [item])
    shown = build_view(state.snapshot, collection.table, item, state.today)
    shown = dataclasses.replace(shown, acts=(*shown.acts, *acts))
    return send_page(add_languages(describe_record(collection.table, shown), name, record_id), is_tagged=True)
