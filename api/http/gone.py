"""An address of something that is not in use any more: it leads on, or tells what became of it."""

from __future__ import annotations

from typing import Any, Final, cast
from urllib.parse import quote

from flask import Response, redirect, request
from werkzeug.wrappers import Response as PlainResponse

from api.desk.gone import Gone, find_gone
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_desk
from ontology.errors import GoneError, NewelError, UnknownIdError

_SUCCESSOR: Final = 'rel="successor-version"'


def answer_old_address(error: NewelError) -> PlainResponse | GoneError | None:
    """Return the way to what took the place of the record of this address, or what became of it.

    None where the error is about something else, or there never was such a record.
    """
    if not isinstance(error, UnknownIdError) or request.method not in ("GET", "HEAD"):
        return None
    record_id = (request.view_args or {}).get("id")
    collection = COLLECTIONS.get(error.table)
    if collection is None or error.record_id != record_id or not _is_named(collection, error.record_id):
        return None
    desk = get_desk()
    key = collection.parse_id(error.record_id)
    gone = find_gone(desk.graph, desk.get_state(), error.table, key) if key is not None else None
    if gone is None:
        return None
    if gone.moved_to is not None:
        return _lead_on(collection, gone.id, gone.moved_to)
    return _tell(collection, gone)


def _is_named(collection: Collection, record_id: str) -> bool:
    """Whether the address is that of the record, or one below it."""
    return _get_start(collection, record_id) is not None


def _get_start(collection: Collection, record_id: str) -> str | None:
    """Return the address of a record, of the same kind as this request's; None where the request is of another."""
    for start in (f"/api/{collection.name}/{record_id}", f"/{collection.name}/{record_id}"):
        if request.path == start or request.path.startswith(f"{start}/"):
            return start
    return None


def _lead_on(collection: Collection, old: str, new: str) -> Response:
    """Return the way to the same address of another record; an undo may bring the old one back, so nobody keeps it."""
    start = _get_start(collection, old) or ""
    base = start.removesuffix(old) + new
    query = request.query_string.decode("latin-1")
    address = quote(base + request.path.removeprefix(start)) + (f"?{query}" if query else "")
    response = cast(Response, redirect(address, 301, Response))
    response.headers["Link"] = f"<{quote(base)}>; {_SUCCESSOR}"
    response.headers["Cache-Control"] = "no-cache"
    return response


def _tell(collection: Collection, gone: Gone) -> GoneError:
    is_api = request.path.startswith("/api/")
    stem = f"/api/{collection.name}/" if is_api else f"/{collection.name}/"
    more: dict[str, Any] = {"reason": gone.reason}
    if gone.retired_on is not None:
        more["retired_on"] = gone.retired_on
    elif gone.removed_in is not None:
        revision, day = gone.removed_in
        more["removed_in"] = {"revision": revision, "day": day}
    more["replaced_by"] = [
        {"id": place.id, "label": place.label, "carry": place.carry, "href": stem + quote(place.id)}
        for place in gone.replaced_by
    ]
    links = [f"<{one['href']}>; {_SUCCESSOR}" for one in more["replaced_by"]]
    return GoneError(gone.tell(), links, table=gone.table, id=gone.id, **more)
