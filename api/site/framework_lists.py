"""The lists of competencies, roles, courses and scales, and the same as a tree."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.desk.kinds import parse_whole
from api.errors import ParameterError, WrongParameter
from api.http.collection import COLLECTIONS
from api.http.context import get_desk
from api.pages.framework_list import build_rows, list_in_order
from api.pages.framework_tree import GROUPED_BY, build_view, describe_tree
from api.pages.record_list import build_list_view, describe_list
from api.site.records import asks_retired, leave_out_empty, read_given, read_list
from api.site.sending import find_unchanged, send_page
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]

_SHOWN: Final = ("list", "tree")


def build_blueprint() -> Blueprint:
    """Return the blueprint of the lists of the framework."""
    blueprint = Blueprint("framework-lists", __name__)
    for table in GROUPED_BY:
        blueprint.add_url_rule(f"/{table}", table, _build_view(table))
    return blueprint


def _build_view(table: str) -> Callable[[], PlainResponse]:
    def view() -> PlainResponse:
        unchanged = find_unchanged()
        if unchanged is not None:
            return unchanged
        shorter = leave_out_empty(COLLECTIONS[table].table)
        if shorter is not None:
            return shorter
        given, snapshot = read_given(COLLECTIONS[table].table), get_desk().get_state().snapshot
        show = given.pop("show", "list")
        if show not in _SHOWN:
            raise ParameterError(WrongParameter("show", show, f"must be one of {', '.join(_SHOWN)}"))
        return _send_tree(snapshot, table, given) if show == "tree" else _send_list(snapshot, table, given)

    return view


def _send_list(snapshot: Snapshot, table: str, given: Mapping[str, str]) -> Response:
    collection = COLLECTIONS[table]
    retired = snapshot.retired.get_table(table).values() if asks_retired(given) else ()
    items = [*list_in_order(snapshot, table), *retired]
    listed, total = read_list(collection, snapshot, items, given)
    rows, tree = build_rows(snapshot, table, listed.records), ("Show as a tree", f"/{table}?show=tree")
    view = build_list_view(snapshot, collection.table, listed, given, total, rows, (tree,))
    return send_page(describe_list(collection.table, view), is_tagged=True)


def _send_tree(snapshot: Snapshot, table: str, given: Mapping[str, str]) -> Response:
    only, page = given.get(GROUPED_BY[table], ""), 1
    wrong = [
        WrongParameter(name, text, "goes with a list, not with a tree")
        for name, text in given.items()
        if name not in (GROUPED_BY[table], "page")
    ]
    if only and table in ("competencies", "scales") and only not in getattr(snapshot, table):
        wrong.append(WrongParameter(GROUPED_BY[table], only, f"must be an id: there is none in {table}"))
    try:
        page = parse_whole(given.get("page", "1"), 1)
    except ValueError as error:
        wrong.append(WrongParameter("page", given["page"], str(error)))
    if wrong:
        raise ParameterError(*wrong)
    return send_page(describe_tree(build_view(snapshot, table, only, page), table, not only), is_tagged=True)
