"""Reading and changing records: what every collection can do, with the state a change was made for. No Flask."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote

from api.access.seen_graph import RecordGraph
from api.errors import FieldError, FieldsError
from api.http.collection import Collection
from api.http.translations import list_gone
from ontology.errors import ConflictError, Finding
from ontology.live.live_graph import Change
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

#: Is given the present item (None: there is none) and raises where the change was made for another state.
Precondition = Callable[[Any | None], None]

#: Is given an item as it will stand, and tells what else is stored with it.
Beside = Callable[[Any], Change]


@dataclass(frozen=True)
class Written:
    """An item as it was stored, whether it is new, and the remarks it was stored past."""

    item: Any
    is_new: bool
    remarks: tuple[Finding, ...]


def create_item(
    graph: RecordGraph,
    collection: Collection,
    body: Mapping[str, Any],
    *,
    who: str,
    note: str = "",
    beside: Beside | None = None,
) -> Written:
    """Store a new item; where it tells when it was written down and the body does not, that is today (UTC).

    `note` is why it is made, in the words of who makes it: it stands in the history. `beside` tells what else of it
    is stored in the same commit.

    Raises
    ------
    FieldsError, FindingsError
        Values are wrong; nothing was stored.
    ConflictError
        There is an item with this id already.
    """
    item = collection.load_item(graph.get_snapshot(), collection.tell_recorded(body, graph.store.get_today()))
    path_id = collection.get_path_id(item)

    def require(present: Snapshot) -> None:
        if collection.has_item(present, item):
            raise ConflictError(
                f"{collection.word.capitalize()} {path_id!r} is there already; to replace it use PUT.",
                table=collection.table.name,
                id=path_id,
            )

    why = _tell_why("made", collection, path_id, note)
    change = _build_put(graph, collection, item, None, body, beside)
    applied = graph.apply(change, who=who, why=why, require=require)
    return Written(item, True, applied.remarks)


def put_item(
    graph: RecordGraph,
    collection: Collection,
    item_id: str,
    body: Mapping[str, Any],
    *,
    who: str,
    check: Precondition,
    note: str = "",
    beside: Beside | None = None,
) -> Written:
    """Make or replace the item of an id; `note` and `beside` as in `create_item`.

    `check` runs before the body is looked at, and again inside the lock: between the two someone else may have
    changed the item, and no such change is lost.

    Raises
    ------
    PreconditionMissingError, StaleError
        From `check`.
    FieldsError, FindingsError
        Values are wrong; nothing was stored.
    """
    snapshot = graph.get_snapshot()
    present_item = collection.find_item(snapshot, item_id)
    check(present_item)
    complete = collection.complete_body(body, item_id)
    item = collection.load_item(snapshot, complete)

    def require(present: Snapshot) -> None:
        found = collection.find_item(present, item_id)
        check(found)
        # a change of levels was worked out from the item as it was read
        if found != present_item:
            raise Overtaken

    verb = "made" if present_item is None else "replaced"
    why = _tell_why(verb, collection, collection.get_path_id(item), note)
    try:
        change = _build_put(graph, collection, item, present_item, complete, beside)
        applied = graph.apply(change, who=who, why=why, require=require)
    except Overtaken:
        return put_item(graph, collection, item_id, body, who=who, check=check, note=note, beside=beside)
    return Written(item, present_item is None, applied.remarks)


def remove_item(
    graph: RecordGraph, collection: Collection, item_id: str, *, who: str, check: Precondition, note: str = ""
) -> None:
    """Remove the item of an id; `note` as in `create_item`.

    Raises
    ------
    UnknownIdError
        There is none.
    PreconditionMissingError, StaleError
        From `check`.
    ConflictError
        Others refer to it; they are named.
    """
    item = collection.get_item(graph.get_snapshot(), item_id)
    check(item)

    def require(present: Snapshot) -> None:
        found = collection.get_item(present, item_id)
        check(found)
        if found != item:
            raise Overtaken

    why = _tell_why("removed", collection, collection.get_path_id(item), note)
    try:
        graph.apply(collection.build_removal(item), who=who, why=why, require=require)
    except Overtaken:
        remove_item(graph, collection, item_id, who=who, check=check, note=note)


def change_items(
    graph: RecordGraph,
    collection: Collection,
    bodies: Sequence[Mapping[str, Any]],
    gone: Sequence[Any],
    *,
    who: str,
    why: str,
    check: Callable[[Snapshot], None],
) -> tuple[Finding, ...]:
    """Put many items and remove others in one commit, all or none; return the remarks they were stored past.

    `check` is given the present state, before the bodies are looked at and again inside the lock, and raises where the
    change was made for another one.

    Raises
    ------
    StaleError
        From `check`.
    FieldsError
        Values are wrong, in the second body at "/1/...", or two bodies are of one item; nothing was stored.
    FindingsError, ConflictError
        As `put_item` and `remove_item`; nothing was stored.
    """
    snapshot = graph.get_snapshot()
    check(snapshot)
    items = _load_items(graph, collection, snapshot, bodies)
    puts = [collection.build_put(item, collection.find_item(snapshot, unquote(i))) for i, item in items.items()]
    change = sum((*puts, *map(collection.build_removal, gone)), Change())
    return graph.apply(change, who=who, why=why, require=check).remarks


def _build_put(
    graph: RecordGraph,
    collection: Collection,
    item: Any,
    present: Any | None,
    body: Mapping[str, Any],
    beside: Beside | None,
) -> Change:
    """Return the change that makes an item or replaces the present one, with what is stored beside it."""
    change = collection.build_put(item, present) + (Change() if beside is None else beside(item))
    return change + _build_translations(graph, collection, item, body)


def _build_translations(graph: RecordGraph, collection: Collection, item: Any, body: Mapping[str, Any]) -> Change:
    """Return the change to the translations that a body gives: all of them, where it speaks of them at all."""
    given = collection.load_translations(item, body)
    if not given:
        return Change()
    rows = [row for _, texts in given for row in texts]
    name = collection.table.name
    gone = list_gone(graph.get_snapshot(), [(name, record) for record, _ in given], rows)
    return Change(tuple((TRANSLATIONS.name, row) for row in rows), tuple((TRANSLATIONS.name, key) for key in gone))


def _load_items(
    graph: RecordGraph, collection: Collection, snapshot: Snapshot, bodies: Sequence[Mapping[str, Any]]
) -> dict[str, Any]:
    """Return the items of some bodies by their ids in addresses; FieldsError tells what is wrong with all of them."""
    items: dict[str, Any] = {}
    wrong: list[FieldError] = []
    for at, body in enumerate(bodies):
        try:
            item = collection.load_item(snapshot, collection.tell_recorded(body, graph.store.get_today()))
        except FieldsError as error:
            wrong += (FieldError(f"/{at}{entry.pointer}", entry.value, entry.reason) for entry in error.fields)
            continue
        path_id = collection.get_path_id(item)
        if items.setdefault(path_id, item) is not item:
            wrong.append(FieldError(f"/{at}", path_id, "stands there twice"))
    if wrong:
        raise FieldsError(f"{format_count(len(wrong), 'wrong value')}; nothing was stored.", wrong)
    return items


def _tell_why(verb: str, collection: Collection, path_id: str, note: str) -> str:
    told = f"{verb} {collection.name}/{path_id}"
    return f"{told}: {note}" if note else told


class Overtaken(Exception):
    """The item changed between reading and locking, and the caller allowed any state: work it out again."""
