"""From items and answers to HTTP responses with their tags.

Record resources have strong tags over their bytes; answers weak ones over the question and the revision, so an
unchanged answer is not computed again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import Any, Final
from urllib.parse import urlencode

from flask import Response, request

from api.http.actors import note_records
from api.http.collection import Collection
from api.http.context import get_desk, get_graph, get_request, get_snapshot, read_state_asked
from api.http.etags import compute_etag, is_unchanged
from api.http.linked_data import dump_json_ld, dump_turtle
from api.http.mapped_levels import dump_told
from api.http.negotiation import JSON, RECORD_FORMS, name_content
from api.http.pagination import Page, add_links
from api.http.quick_response import QuickResponse
from api.json_text import dump_json
from ontology.errors import Finding
from ontology.mapping.retired_marks import iterate_marks_of
from ontology.mapping.tagged import build_tagged_quads
from ontology.model.translated import get_key_text
from ontology.snapshot.snapshot import Snapshot

Rules = tuple[tuple[str, str], ...]
_REMARKS_SHOWN: Final = 20
#: What caches are told of whatever may be kept: to look again each time, and that the form depends on Accept.
SHARED_RULES: Final[Rules] = (("Cache-Control", "no-cache"), ("Vary", "Accept"))
#: And of what belongs to one person, or tells of people: to keep nothing.
PRIVATE_RULES: Final[Rules] = (("Cache-Control", "private, no-store"), ("Vary", "Accept"))


def get_state_key() -> str:
    """Return what stands for the state that this request asks; "" for the present one."""
    state = get_desk().get_state()
    return state.key if state.told is not None else ""


def get_draft_key() -> str:
    """Return what stands for the draft that is asked, "" for none: what a record is in it hangs on nothing else."""
    draft = read_state_asked(get_request()).draft
    return f" draft {draft}" if draft else ""


def represent_item(collection: Collection, item: Any, form: str) -> bytes:
    """Return an item in a form: json, json-ld or turtle."""
    if form == "json":
        return dump_json(dump_told(_get_present(), collection, item))
    return _represent_quads(collection, [item], form)


def represent_items(collection: Collection, items: Sequence[Any], form: str) -> bytes:
    """Return a list of items in a form."""
    if form == "json":
        snapshot = _get_present()
        return dump_json([dump_told(snapshot, collection, item) for item in items])
    return _represent_quads(collection, items, form)


def _get_present() -> Snapshot:
    """Return the state whose translations an item has: that which is asked, and after a change what it led to."""
    return get_snapshot() if request.method in ("GET", "HEAD") else get_graph().get_snapshot()


def _represent_quads(collection: Collection, items: Sequence[Any], form: str) -> bytes:
    quads = [quad for item in items for quad in collection.build_quads(item)]
    quads += iterate_marks_of(get_snapshot(), collection.table, items)
    snapshot, table = _get_present(), collection.table
    for record in (one for item in items for one in collection.list_records(item)):
        quads += build_tagged_quads(snapshot.get_translations((table.name, get_key_text(table.get_key(record)))))
    return dump_json_ld(quads) if form == "json-ld" else dump_turtle(quads)


def get_item_path(collection: Collection, item: Any) -> str:
    """Return the path of an item's resource."""
    return f"/api/{collection.name}/{collection.get_path_id(item)}"


def compute_item_etag(collection: Collection, item: Any, form: str) -> str:
    """Return the tag of an item in a form."""
    content = represent_item(collection, item, form)
    return compute_etag(get_item_path(collection, item) + get_draft_key(), RECORD_FORMS[form], content)


def respond_with_item(
    collection: Collection, item: Any, form: str, *, status: int = 200, remarks: Sequence[Finding] = ()
) -> Response:
    """Return the response that holds an item; 304 to a GET whose If-None-Match holds its tag."""
    note_records(collection.table.name, [item])
    content = represent_item(collection, item, form)
    path = get_item_path(collection, item)
    draft = get_draft_key()
    etag = compute_etag(path + (draft or get_state_key()), RECORD_FORMS[form], content)
    response = respond_with_tag(etag, lambda: content, RECORD_FORMS[form], status=status)
    if status == 201:
        query = f"?{urlencode(read_state_asked(get_request()).texts)}" if draft else ""
        response.headers["Location"] = request.host_url.rstrip("/") + path + query
    if remarks:
        shown = [f"{remark.column}: {remark.reason}" if remark.column else remark.reason for remark in remarks]
        response.headers["Newel-Remarks"] = json.dumps(shown[:_REMARKS_SHOWN])
    return response


def respond_with_page(collection: Collection, page: Page[Any], form: str) -> Response:
    """Return the response that holds a page of items."""
    note_records(collection.table.name, page.items)
    content = represent_items(collection, page.items, form)
    etag = compute_etag(request.full_path + get_state_key() + str(page.total), RECORD_FORMS[form], content)
    response = respond_with_tag(etag, lambda: content, RECORD_FORMS[form])
    add_links(response, request, page)
    return response


def respond_with_tag(
    tag: str,
    write: Callable[[], bytes],
    media_type: str = JSON,
    *,
    status: int = 200,
    is_weak: bool = False,
    rules: Rules = SHARED_RULES,
) -> Response:
    """Return the response that holds what is written; 304 to a GET whose If-None-Match holds the tag."""
    request = get_request()
    is_known = request.method in ("GET", "HEAD") and is_unchanged(request, tag)
    own = (("ETag", f'W/"{tag}"' if is_weak else f'"{tag}"'), *rules)
    if is_known:
        return QuickResponse(b"", own, 304)
    return QuickResponse(write(), (("Content-Type", name_content(media_type)), *own), status)


def add_cache_rules(response: Response) -> Response:
    """Ask caches to look again each time, and tell them that the form depends on Accept."""
    response.headers.extend(SHARED_RULES)
    return response
