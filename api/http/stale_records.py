"""A change made for another state of a record: what was sent, what stands there, what differs, who changed it last."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from api.errors import FieldsError
from api.http.actors import note_records
from api.http.collection import Collection
from api.http.context import get_desk, get_graph
from api.http.translations import MEMBER as TEXTS
from ontology.errors import StaleError
from ontology.store.history import Commit


def find_last_commit(collection: Collection, item: Any) -> Commit | None:
    """Return the last commit that changed an item as it stands now; None: not kept, or new in a draft."""
    # brings an RDF library: only who meets another's change, or reads a record's page, needs it
    from ontology.history.last_change import find_last_change

    key = (item[0].scale,) if isinstance(item, tuple) else collection.table.get_key(item)
    graph = get_desk().graph
    if not collection.has_item(graph.get_snapshot(), item):
        return None  # of a draft alone
    return find_last_change(graph, graph.get_snapshot().revision, collection.table.name, key)


def tell_versions(
    error: StaleError, collection: Collection, item_id: str, body: Mapping[str, Any] | None
) -> StaleError:
    """Return the error with both versions of the record, what differs, and the last commit on it.

    `body` is what was sent, None to have it removed. What cannot be read as a record is told as it was sent.
    """
    snapshot = get_graph().get_snapshot()
    item = collection.find_item(snapshot, item_id)
    sent = None
    if body is not None:
        try:
            sent = collection.dump_item(collection.load_item(snapshot, collection.complete_body(body, item_id)))
            sent |= {TEXTS: body[TEXTS]} if body.get(TEXTS) else {}
        except FieldsError:
            sent = dict(body)
    present, commit = None, None
    if item is not None:
        note_records(collection.table.name, [item])
        present, commit = collection.dump_whole(item, snapshot), find_last_commit(collection, item)
        if sent is not None and body is not None and TEXTS not in body:
            # what was not spoken of was to stay as it is
            sent |= {TEXTS: present[TEXTS]} if TEXTS in present else {}
    context = dict(error.context) | {"sent": sent, "present": present, "differs": _compare(sent, present)}
    if commit is not None:
        context |= {"who": commit.who, "when": commit.when.strftime("%Y-%m-%dT%H:%M:%SZ"), "why": commit.why}
    return StaleError(error.detail, **context)


def _compare(sent: Mapping[str, Any] | None, present: Mapping[str, Any] | None) -> list[dict[str, Any]]:
    """Return the columns of two versions that differ; none where one of them is not there."""
    if sent is None or present is None:
        return []
    return [
        {"column": name, "sent": sent.get(name), "present": present.get(name)}
        for name in dict.fromkeys((*present, *sent))
        if sent.get(name) != present.get(name)
    ]
