"""Making, changing and removing one record of any table in a form.

A form is sent with the tag of the record it showed; it is stored by the same services, under the same rule, as a PUT
with If-Match.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from http import HTTPStatus
from typing import Any, Final

from flask import Blueprint, Response
from werkzeug.wrappers import Response as PlainResponse

from api.access.check import find_columns
from api.access.rights import Verb
from api.desk.record_words import get_record_id, list_key
from api.errors import get_kind
from api.http.actors import get_sight, get_who, note_records
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_desk, get_graph, get_request
from api.http.record_services import Beside, create_item, put_item, remove_item
from api.pages.addresses import build_record_address
from api.pages.forms.faults import Fault, find_faults
from api.pages.forms.form import Body, fill_defaults
from api.pages.forms.language_fields import has_languages, list_said, read_said, split_said
from api.pages.record_form import (
    build_form_view,
    build_removal_view,
    describe_form,
    describe_removal,
    get_own_name,
    list_labels,
    list_texts,
    read_form,
)
from api.pages.records import Referrers, get_list_address
from api.site.record_conflicts import send_conflict, tell_users
from api.site.records import get_rule
from api.site.sending import send_page
from api.site.sent_form import SAID, Sent, build_check, check_sent, get_here, list_hidden, read_filled, read_sent
from api.site.stored import lead_to
from ontology.errors import ConflictError, InputError, NewelError, StaleError

__all__ = ["build_blueprint"]

_METHODS: Final = ("GET", "POST")
#: New ones have a form of their own.
_MADE_ELSEWHERE: Final = ("assessments",)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the forms of all tables."""
    blueprint = Blueprint("record-forms", __name__)
    for name, collection in COLLECTIONS.items():
        address, rule = f"/{collection.name}", get_rule(collection)
        blueprint.add_url_rule(f"/new{address}", f"new-{name}", _build_new_view(name), methods=_METHODS)
        blueprint.add_url_rule(f"/edit{address}/{rule}", f"edit-{name}", _build_edit_view(name), methods=_METHODS)
        blueprint.add_url_rule(
            f"/remove{address}/{rule}", f"remove-{name}", _build_removal_view(name), methods=_METHODS
        )
    return blueprint


def _build_new_view(name: str) -> Callable[[], PlainResponse]:
    def view() -> PlainResponse:
        collection = COLLECTIONS[name]
        if get_request().method == "GET":
            texts = fill_defaults(collection.table, read_filled(collection))
            return _send_form(collection, texts, None)
        sent = read_sent(collection.table)
        said = split_said(sent.typed)
        body = read_form(get_graph().get_snapshot(), collection.table, sent.typed, None)
        try:
            check_sent(sent)
            beside = _make_beside(collection, said, {})
            who, note = get_who(), sent.note
            written = create_item(get_graph(), collection, body.members, who=who, note=note, beside=beside)
        except (InputError, ConflictError) as error:
            return _refuse(collection, sent, body, error, None, said)
        return go_to(collection, written.item)

    return view


def _build_edit_view(name: str) -> Callable[[str], PlainResponse]:
    def view(id: str) -> PlainResponse:
        collection, snapshot = COLLECTIONS[name], get_graph().get_snapshot()
        if get_request().method == "GET":
            item = collection.get_item(snapshot, id)
            texts = list_texts(collection.table, collection.dump_item(item)) | read_filled(collection)
            return _send_form(collection, texts, item)
        item, sent = collection.find_item(snapshot, id), read_sent(collection.table)
        said, read = split_said(sent.typed), _read_shown(sent)
        shown = collection.dump_item(item) if item is not None else None
        body = read_form(snapshot, collection.table, sent.typed, shown)
        check = build_check(collection, sent)
        try:
            check_sent(sent)
            # what was not sent stays as it is: only an empty field says that nothing is to stand there
            members = {**(shown or {}), **body.members}
            who, graph = get_who(), get_graph()
            beside = _make_beside(collection, said, read)
            written = put_item(graph, collection, id, members, who=who, check=check, note=sent.note, beside=beside)
        except StaleError:
            return send_conflict(collection, id, sent, {**sent.typed, **said})
        except (InputError, ConflictError) as error:
            return _refuse(collection, sent, body, error, item, said)
        return go_to(collection, written.item)

    return view


def _build_removal_view(name: str) -> Callable[[str], PlainResponse]:
    def view(id: str) -> PlainResponse:
        collection = COLLECTIONS[name]
        item = collection.get_item(get_graph().get_snapshot(), id)
        if get_request().method == "GET":
            return _send_removal(collection, item)
        sent = read_sent(collection.table)
        check = build_check(collection, sent)
        try:
            check_sent(sent, is_removal=True)
            remove_item(get_graph(), collection, id, who=get_who(), check=check, note=sent.note)
        except StaleError:
            return send_conflict(collection, id, sent, None)
        except (InputError, ConflictError) as error:
            faults = find_faults(error, collection.table, list_key(collection.table, item), {}, ())
            is_referred = isinstance(error, ConflictError)
            return _send_removal(collection, item, () if is_referred else faults, sent.note, get_kind(error).status)
        return lead_to(get_list_address(collection.table))

    return view


def _make_beside(collection: Collection, said: Mapping[str, str], shown: Mapping[str, str]) -> Beside | None:
    """Return what tells which texts in other languages are stored with a record; None where none was sent."""
    snapshot, table = get_graph().get_snapshot(), collection.table
    return (lambda item: read_said(snapshot, table, item, said, shown)) if said and has_languages(table) else None


def _read_shown(sent: Sent) -> dict[str, str]:
    """Return the texts in other languages as the form showed them."""
    shown = (sent.read or {}).get(SAID, {})
    return {str(name): str(text) for name, text in shown.items()} if isinstance(shown, dict) else {}


def go_to(collection: Collection, item: Any) -> PlainResponse:
    """Return the response that leads to the page of a record that was stored."""
    address = build_record_address(collection.table.name, get_record_id(collection.table, item))
    return lead_to(address)


def _send_form(collection: Collection, texts: Mapping[str, str], item: Any | None) -> Response:
    snapshot = get_graph().get_snapshot()
    note_records(collection.table.name, [item] if item is not None else [])
    hidden = list_hidden(collection, item) if item is not None else ()
    path = get_here()
    said = list_said(snapshot, collection.table, item)
    closed = _find_closed(collection, item)
    view = build_form_view(
        snapshot, collection.table, texts, item=item, action=path, hidden=hidden, said=said, closed=closed
    )
    return send_page(describe_form(collection.table, view))


def _find_closed(collection: Collection, item: Any | None) -> tuple[str, ...]:
    """Return the columns of a record that who looks may not change, though others of it."""
    sight = get_sight()
    if sight is None or item is None or isinstance(item, tuple):
        return ()
    table = collection.table
    open_to = find_columns(sight.actor, sight.build_record_right(table.name, item, Verb.CHANGE))
    if open_to is None:
        return ()
    return tuple(column.name for column in table.columns if column.attribute not in open_to)


def _refuse(
    collection: Collection, sent: Sent, body: Body, error: NewelError, item: Any | None, said: Mapping[str, str]
) -> Response:
    """Return the form again with all that was typed, and what is wrong at its field."""
    table, snapshot = collection.table, get_graph().get_snapshot()
    known = list_texts(table, collection.dump_item(item)) if item is not None else {}
    typed = list_texts(table, body.members) if table.name == "scales" else sent.typed
    texts = known | typed
    key = list_key(table, item) if item is not None else [str(body.members.get(name)) for name in collection.key_names]
    names = [*list_labels(table, texts), *said, sent.note_name]
    users: Sequence[Referrers] = ()
    if isinstance(error, ConflictError):
        faults, users = tell_users(collection, snapshot, error)
    else:
        faults = find_faults(error, table, key, body.wrong, names)
    hidden = ((get_own_name(table, "state"), sent.state or ""), (get_own_name(table, "read"), json.dumps(sent.read)))
    view = build_form_view(
        snapshot,
        table,
        texts,
        item=item,
        action=get_here(),
        hidden=hidden if item is not None else (),
        why=sent.note,
        faults=faults,
        users=users,
        said=said,
        closed=_find_closed(collection, item),
    )
    return send_page(describe_form(table, view), status=get_kind(error).status)


def _send_removal(
    collection: Collection, item: Any, faults: Sequence[Fault] = (), note: str = "", status: int = HTTPStatus.OK
) -> Response:
    """Return the page that names all that refers to a record, or asks whether it is to go."""
    table, hidden = collection.table, list_hidden(collection, item)
    note_records(table.name, [item])
    path, snapshot = get_here(), get_graph().get_snapshot()
    is_on_draft = bool(get_desk().get_state().asked.draft)
    view = build_removal_view(
        snapshot, table, item, action=path, hidden=hidden, why=note, faults=faults, is_on_draft=is_on_draft
    )
    return send_page(describe_removal(table, view), status=status)
