"""What stands against a change: someone else's of the same record, or records that hang on what would change. Flask."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from urllib.parse import unquote

from flask import Response

from api.desk.record_words import get_record_id, name_record
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_graph
from api.http.stale_records import find_last_commit
from api.pages.addresses import build_record_address
from api.pages.forms.faults import Fault
from api.pages.record_conflict import build_conflict_view, describe_conflict
from api.pages.record_form import get_own_name, list_labels, list_texts
from api.pages.records import Referrers, get_list_address, group_referrers
from api.site.sending import send_page
from api.site.sent_form import Sent, get_here, list_hidden
from ontology.errors import ConflictError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["send_conflict", "tell_users"]


def send_conflict(collection: Collection, item_id: str, sent: Sent, typed: Mapping[str, str] | None) -> Response:
    """Return the page with the record as it was read, as it is now, and as it was typed; None: to be removed."""
    table, snapshot = collection.table, get_graph().get_snapshot()
    present = collection.find_item(snapshot, item_id)
    now = list_texts(table, collection.dump_item(present)) if present is not None else None
    read = list_texts(table, sent.read) if sent.read is not None else None
    own = dict(list_hidden(collection, present)) if present is not None else {get_own_name(table, "state"): ""}
    if sent.note:
        own[get_own_name(table, "why")] = sent.note
    labels = list_labels(table, {**(read or {}), **(now or {}), **(typed or {})})
    view = build_conflict_view(
        name_record(snapshot, table, present) if present is not None else unquote(item_id),
        {name: label for name, label in labels.items() if name not in collection.key_names},
        (read, now, typed),
        sent=[*(typed or {}).items(), *own.items()],
        action=get_here(),
        keep=build_record_address(table.name, item_id) if present is not None else get_list_address(table),
        revision=snapshot.revision,
        last=find_last_commit(collection, present) if present is not None else None,
    )
    return send_page(describe_conflict(table, view), status=HTTPStatus.PRECONDITION_FAILED)


def tell_users(
    collection: Collection, snapshot: Snapshot, error: ConflictError
) -> tuple[tuple[Fault, ...], Sequence[Referrers]]:
    """Return a conflict in words, and the records that hang on what was to change, by name."""
    users = error.context.get("referrers")
    if users is not None:
        named = [user.split("/", 1) for user in users]
        pairs = [(table, COLLECTIONS[table].find_item(snapshot, record_id)) for table, record_id in named]
        groups = group_referrers(snapshot, collection.table, pairs)
        return (Fault("", "", error.detail.partition(" Recorded are ")[0]),), groups
    there = collection.find_item(snapshot, unquote(str(error.context["id"])))
    if there is None:
        return (Fault("", "", error.detail),), ()
    name, record_id = name_record(snapshot, collection.table, there), get_record_id(collection.table, there)
    address = build_record_address(collection.table.name, record_id)
    return (Fault("", name, "There is this one already; edit it, or choose another id", address),), ()
