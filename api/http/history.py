"""The history over HTTP: commits, what one changed, the life of a record; JSON, PROV-O and named graphs. Flask."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from flask import Response
from marshmallow import Schema, fields

from api.desk.history import AskHistory, AskRows, OneCommit, list_commits, read_life, read_one_commit, tell_commits
from api.desk.states import State
from api.http.actors import note_life
from api.http.answer_schemas import build_part_schema
from api.http.arguments import read_asked
from api.http.collection import COLLECTIONS, Collection
from api.http.context import get_desk, get_request, get_settings
from api.http.etags import compute_etag
from api.http.linked_data import dump_turtle
from api.http.negotiation import ANSWER_FORMS, COMMIT_FORMS, JSON, N_QUADS, TURTLE, choose_form
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.pagination import Page, add_links, cut_page
from api.http.parameter_schemas import build_parameters_schema
from api.http.responses import respond_with_tag
from api.http.told_fields import flag, several, tell, text, whole
from api.json_text import dump_json
from api.pages.history_view import LifeView, dump_commit, dump_life, dump_one, list_public
from api.settings import Settings
from ontology.errors import NotFoundError, UnknownIdError
from ontology.history.rows import TableCount
from ontology.model.columns import Key
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.commit_text import get_commit_node, get_patch_graph

#: A revision has fewer.
_DIGITS: Final = 13


class HistoryColumn(Schema):
    """One column of a record that changed."""

    column = text("The column; of a text in a language the column, @ and the language.")
    before = fields.Raw(data_key="from", allow_none=True, metadata=tell("The value before."))
    after = fields.Raw(data_key="to", allow_none=True, metadata=tell("The value after."))
    gone = fields.List(fields.Raw(), metadata=tell("Of columns with several values: what went."))
    new = fields.List(fields.Raw(), metadata=tell("Of columns with several values: what is new."))
    direction = text("raised or lowered, of numbers and dates.", allow_none=True)
    stated = flag("Whether it was said, or followed another column.")


class HistoryRow(Schema):
    """One record that came, went or changed."""

    table = text("The table.")
    id = text("The id, parts joined by ~.")
    label = text("What the record is called now, or was called last.")
    change = text("added, removed or changed.")
    columns = several(fields.Nested(HistoryColumn), "The columns that differ, in the order of the table.")
    words = text("The same in words.")


class LifeRow(HistoryRow):
    """A row with the commit it was made in."""

    revision = whole("The revision it was made in.")
    when = text("When, UTC.")
    who = text("Who made it.")
    why = text("Why.")
    release = text("The release that names the revision.", allow_none=True)


class HistoryCommit(Schema):
    """A commit."""

    revision = whole("The revision it made.")
    when = text("When, UTC.")
    who = text("Who made it.")
    why = text("Why.")
    release = text("The release that names the revision.", allow_none=True)
    undo_of = whole("The revision whose change it takes back.", allow_none=True)
    is_bulk = flag("Whether it was a bulk load.")
    counts = several(
        fields.Nested(build_part_schema(TableCount)),
        "Records that came, went and changed by table; null where it was not kept.",
        allow_none=True,
    )
    others = whole("Triples that no table holds; null where it was not kept.", allow_none=True)


class HistoryQuad(Schema):
    """A triple that no table holds, with its graph."""

    change = text("added or removed.")
    graph = text("Its named graph.")
    subject = text("N-Triples text.")
    predicate = text("N-Triples text.")
    object = text("N-Triples text.")


class HistoryRows(HistoryCommit):
    """A commit with its rows; rows about people stand in the life of their own records only."""

    rows = several(fields.Nested(HistoryRow), "What it changed, in the order of tables and keys.")
    rows_total = whole("How many rows there are.")
    raw = several(fields.Nested(HistoryQuad), "What no table holds.")


class RecordLife(Schema):
    """The life of a record."""

    table = text("The table.")
    id = text("The id.")
    label = text("What it is called, or was called last.")
    exists = text("yes, retired or removed.")
    replaced_by = several(fields.String(), "What replaced it.")
    first_revision = whole("Up to this revision nothing is kept row by row.", allow_none=True)
    rows = several(fields.Nested(LifeRow), "What changed, newest first.")
    rows_total = whole("How many rows there are.")


def build_history_blueprint(settings: Settings) -> DescribedBlueprint:
    """Return the blueprint of the history."""
    blueprint = DescribedBlueprint("history", "What was changed, when, by whom and why.")
    shared: dict[str, Any] = {"headers": ("ETag", "Link", "X-Pagination"), "request_headers": ("If-None-Match",)}
    listed = describe(
        "What was changed, newest first",
        returns=HistoryCommit(many=True),
        query=build_parameters_schema(AskHistory, settings),
        errors=(406, 422),
        **shared,
    )(show_history)
    add_route(blueprint, "/history", {"GET": listed}, "list")
    rows = build_parameters_schema(AskRows, settings)
    one = describe(
        "What one revision changed",
        returns=HistoryRows,
        media_types=tuple(COMMIT_FORMS.values()),
        query=rows,
        errors=(404, 406, 422),
        **shared,
    )(show_revision)
    number = describe_part("Its number.", "revision", "integer")
    add_route(blueprint, "/history/<revision>", {"GET": one}, "revision", [number])
    life = describe("The life of a record", returns=RecordLife, query=rows, errors=(404, 406, 422), **shared)(show_life)
    part = {"in": "path", "required": True, "schema": {"type": "string"}}
    path = [part | {"name": "table"} | tell("The table."), part | {"name": "id"} | tell("The id.")]
    add_route(blueprint, "/history/<table>/<path:id>", {"GET": life}, "life", path)
    return blueprint


def show_history() -> Response:
    """Show commits."""
    choose_form(get_request(), ANSWER_FORMS)
    asked = read_asked(AskHistory, get_request().args)
    graph, state = get_desk().graph, get_desk().get_state()
    asked.check(state.snapshot)
    page = cut_page(list_commits(graph, state, asked), asked.page, asked.get_page_size(get_settings()))
    told = tell_commits(graph, page.items)
    return _respond(state, lambda: dump_json([dump_commit(one) for one in told]), page)


def show_revision(revision: str) -> Response:
    """Show what one commit changed."""
    form = choose_form(get_request(), COMMIT_FORMS)
    asked = read_asked(AskRows, get_request().args)
    graph, state = get_desk().graph, get_desk().get_state()
    if not (revision.isascii() and revision.isdigit() and len(revision) < _DIGITS):
        raise NotFoundError(f"There is no revision {revision!r}: it is a number.")
    one = read_one_commit(graph, state, int(revision))
    if form == "turtle":
        return _respond(state, lambda: dump_turtle(_list_activity(one)), None, TURTLE)
    if form == "n-quads":
        return _respond(state, lambda: _write_named_graphs(one), None, N_QUADS)
    page = cut_page(one.rows, asked.page, asked.get_page_size(get_settings()))
    return _respond(state, lambda: dump_json(dump_one(one, page.items)), page)


def show_life(table: str, id: str) -> Response:
    """Show the life of a record."""
    choose_form(get_request(), ANSWER_FORMS)
    asked = read_asked(AskRows, get_request().args)
    state = get_desk().get_state()
    view = read_life_view(state, table, id)
    page = cut_page(view.life.rows, asked.page, asked.get_page_size(get_settings()))
    return _respond(state, lambda: dump_json(dump_life(view, page.items)), page)


def read_life_view(state: State, table: str, record_id: str) -> LifeView:
    """Return the life of a record of a table, named as in addresses.

    Raises
    ------
    NotFoundError
        There is no such table, or no such record, now or ever.
    """
    graph = get_desk().graph
    collection = COLLECTIONS.get(table.replace("-", "_"))
    if collection is None:
        raise NotFoundError(f"There is no table {table!r}.")
    key = parse_key(collection, record_id)
    if state.sight is not None and not state.sight.decide_life(collection.table.name, key):
        raise UnknownIdError(collection.table.name, record_id)
    note_life(collection.table.name, key)
    life, names = read_life(graph, state, collection.table.name, key)
    releases = {release.revision: release.version for release in graph.past.list_releases()}
    return LifeView(collection.table.name, record_id, life, names, releases, state.snapshot)


def parse_key(collection: Collection, record_id: str) -> Key:
    """Return the key of an id; of a scale's level too. UnknownIdError where it can be none."""
    scale, _, rank = record_id.partition("~")
    if collection.table.name == "scales" and rank.isascii() and rank.isdigit() and len(rank) < 10:
        return (scale, int(rank))
    key = collection.parse_id(record_id)
    if key is None:
        raise UnknownIdError(collection.table.name, record_id)
    return key


def _list_activity(one: OneCommit) -> list[Quad]:
    """Return the entry of a commit as the store keeps it (PROV-O), with its files."""
    store, commit = get_desk().graph.store, one.told.commit
    nodes = [get_commit_node(commit.revision), *(ns.iri_term(ns.HISTORY + file.name) for file in commit.files)]
    return list(store.read_subjects(ns.GRAPH_HISTORY, nodes))


def _write_named_graphs(one: OneCommit) -> bytes:
    revision = one.told.commit.revision
    lines = []
    for quads, is_added in zip(list_public(one.patch), (True, False), strict=True):
        for graph, s, p, o in quads:
            lines.append(f"{s} {p} {o} <{get_patch_graph(revision, graph, is_added=is_added)}> .\n")
    return "".join(sorted(lines)).encode()


def _respond(state: State, write: Callable[[], bytes], page: Page[Any] | None, media_type: str = JSON) -> Response:
    """Return the response; the history of a state changes with the present revision alone: names are of today."""
    request, present = get_request(), get_desk().graph.get_snapshot()
    key = f"{state.key} {present.revision}".encode()
    etag = compute_etag(request.full_path, media_type, key)
    response = respond_with_tag(etag, write, media_type, is_weak=True)
    if page is not None:
        add_links(response, request, page)
    return response
