"""Collections of records: list, make, read, replace, remove; one set of views for every table.

A list hangs below its own path and, where the trade asks so, below the record its items belong to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from flask import Response, request
from marshmallow import Schema

from api.desk.parameters import Parameter
from api.http.actors import get_who
from api.http.arguments import read_values
from api.http.collection import COLLECTIONS, Collection, complete
from api.http.context import get_graph, get_snapshot
from api.http.etags import require_match
from api.http.lists import keep_matching, list_item_parameters, list_list_parameters
from api.http.negotiation import RECORD_FORMS, choose_form
from api.http.openapi import DescribedBlueprint, DescribedView, add_route, describe, describe_part
from api.http.pagination import cut_page
from api.http.parameter_schemas import build_schema
from api.http.reasons import REASON, read_reason
from api.http.record_services import create_item, put_item, remove_item
from api.http.request_body import read_json_object
from api.http.responses import compute_item_etag, respond_with_item, respond_with_page
from api.http.stale_records import tell_versions
from api.settings import Settings
from ontology.errors import ConflictError, StaleError, UnknownIdError
from ontology.model.tables import PERSONAL_TABLES

#: (collection, part of its path, collection of the items, their column that names the record above)
BELOW: Final = (
    ("roles", "requirements", "requirements", "role"),
    ("courses", "outcomes", "outcomes", "course"),
    ("courses", "entry-conditions", "entry_conditions", "course"),
    ("courses", "sessions", "sessions", "course"),
    ("courses", "requests", "requests", "course"),
    ("sessions", "bookings", "bookings", "session"),
    ("people", "assessments", "assessments", "person"),
    ("people", "absences", "absences", "person"),
    ("people", "memberships", "memberships", "person"),
    ("people", "duties", "duties", "person"),
    ("people", "appointments", "appointments", "person"),
    ("people", "practices", "practices", "person"),
    ("people", "orientation-done", "orientation_done", "person"),
    ("people", "requests", "requests", "person"),
    ("people", "agreed-plans", "agreed_plans", "person"),
    ("agreed_plans", "agreed-courses", "agreed_courses", "plan"),
    ("teams", "members", "people", "team"),
    ("teams", "shifts", "shifts", "team"),
    ("teams", "cover-needs", "cover_needs", "team"),
    ("teams", "places", "places", "team"),
    ("teams", "memberships", "memberships", "team"),
    ("places", "duties", "duties", "place"),
)
_MEDIA_TYPES: Final = tuple(RECORD_FORMS.values())


def build_record_blueprints(settings: Settings) -> list[DescribedBlueprint]:
    """Return one blueprint per collection."""
    return [_build_blueprint(collection, settings) for collection in COLLECTIONS.values()]


def _build_blueprint(collection: Collection, settings: Settings) -> DescribedBlueprint:
    blueprint = DescribedBlueprint(collection.name, f"Records of the table {collection.table.name}.")
    parameters = list_list_parameters(collection, settings)
    is_in_drafts = collection.table.name not in PERSONAL_TABLES
    add_route(
        blueprint,
        f"/{collection.name}",
        {"GET": _build_list_view(collection, settings, parameters), "POST": _build_create_view(collection)},
        "list",
        is_in_drafts=is_in_drafts,
    )
    converter = "path:id" if len(collection.key_names) > 1 else "id"
    about = describe_part(f"The id: {'~'.join(collection.key_names)}")
    views = {
        "GET": _build_read_view(collection, settings),
        "PUT": _build_put_view(collection),
        "DELETE": _build_remove_view(collection),
    }
    add_route(blueprint, f"/{collection.name}/<{converter}>", views, "item", [about], is_in_drafts=is_in_drafts)
    for above, part, table, column in BELOW:
        if above == collection.table.name:
            _add_list_below(blueprint, collection, part, COLLECTIONS[table], column, settings)
    return blueprint


def _add_list_below(
    blueprint: DescribedBlueprint, above: Collection, part: str, collection: Collection, column: str, settings: Settings
) -> None:
    parameters = list_list_parameters(collection, settings, without=column)
    views = {
        "GET": _build_list_view(collection, settings, parameters, above, column),
        "POST": _build_create_view(collection, above, column),
    }
    is_in_drafts = not {above.table.name, collection.table.name} & PERSONAL_TABLES
    about = describe_part(f"Id of one of {above.name}.")
    add_route(blueprint, f"/{above.name}/<id>/{part}", views, part, [about], is_in_drafts=is_in_drafts)


def _build_list_view(
    collection: Collection,
    settings: Settings,
    parameters: tuple[Parameter, ...],
    above: Collection | None = None,
    column: str = "",
) -> DescribedView:
    where = f" of one of {above.name}" if above else ""

    @describe(
        f"List {collection.name}{where}",
        returns=collection.schema(many=True),
        media_types=_MEDIA_TYPES,
        query=build_schema("ListOf" + collection.what + ("Below" if above else ""), parameters, settings),
        headers=("ETag", "Link", "X-Pagination"),
        request_headers=("If-None-Match",),
        errors=(404, 406, 422) if above else (406, 422),
    )
    def view(id: str = "") -> Response:
        form = choose_form(request, RECORD_FORMS)
        snapshot = get_snapshot()
        asked = read_values(parameters, request.args)
        with_retired = bool(asked.pop("retired", False))
        items = collection.get_items(snapshot, with_retired=with_retired)
        if above is not None:
            above.get_item(snapshot, id, with_retired=with_retired)
            attribute = collection.table.get_column(column).attribute
            items = [item for item in items if getattr(item, attribute) == id]
        page, page_size = asked.pop("page", 1), asked.pop("page_size", settings.page_size_default)
        kept = keep_matching(snapshot, collection, items, asked)
        return respond_with_page(collection, cut_page(kept, page, page_size), form)

    return view


def _build_create_view(collection: Collection, above: Collection | None = None, column: str = "") -> DescribedView:
    where = f" of one of {above.name}" if above else ""

    @describe(
        f"Make one of {collection.name}{where}",
        returns=collection.schema,
        status=201,
        media_types=_MEDIA_TYPES,
        query=Schema,
        body=_build_body_schema(collection, (column,) if above else ()),
        headers=("ETag", "Location", "Newel-Remarks"),
        request_headers=(REASON,),
        errors=(400, 403, 404, 406, 409, 413, 415, 422) if above else (400, 403, 406, 409, 413, 415, 422),
    )
    def view(id: str = "") -> Response:
        form = choose_form(request, RECORD_FORMS)
        read_values((), request.args)
        if above is not None:
            above.get_item(get_snapshot(), id)
        body = read_json_object(request)
        if above is not None:
            body = complete(body, {column: id})
        written = create_item(get_graph(), collection, body, who=get_who(), note=read_reason())
        return respond_with_item(collection, written.item, form, status=201, remarks=written.remarks)

    return view


def _build_read_view(collection: Collection, settings: Settings) -> DescribedView:
    parameters = list_item_parameters(collection)

    @describe(
        f"Read one of {collection.name}",
        returns=collection.schema,
        media_types=_MEDIA_TYPES,
        query=build_schema("ReadOf" + collection.what, parameters, settings) if parameters else Schema,
        headers=("ETag",),
        request_headers=("If-None-Match",),
        errors=(404, 406, 422),
    )
    def view(id: str) -> Response:
        form = choose_form(request, RECORD_FORMS)
        snapshot = get_snapshot()
        if collection.find_item(snapshot, id) is None:
            raise UnknownIdError(collection.table.name, id)
        with_retired = bool(read_values(parameters, request.args).get("retired", False))
        item = collection.get_item(snapshot, id, with_retired=with_retired)
        return respond_with_item(collection, item, form)

    return view


def _build_put_view(collection: Collection) -> DescribedView:
    @describe(
        f"Replace one of {collection.name}, or make it",
        returns=collection.schema,
        media_types=_MEDIA_TYPES,
        query=Schema,
        body=_build_body_schema(collection, collection.key_names),
        headers=("ETag", "Newel-Remarks"),
        request_headers=("If-Match", "If-None-Match", REASON),
        may_create=True,
        errors=(400, 403, 404, 406, 409, 412, 413, 415, 422, 428),
        description="A new record needs If-None-Match: * and answers 201; an existing one needs If-Match.",
    )
    def view(id: str) -> Response:
        form = choose_form(request, RECORD_FORMS)
        read_values((), request.args)
        body = read_json_object(request)
        check, note = _build_precondition(collection, form), read_reason()
        try:
            written = put_item(get_graph(), collection, id, body, who=get_who(), check=check, note=note)
        except StaleError as error:
            raise tell_versions(error, collection, id, body) from None
        status = 201 if written.is_new else 200
        return respond_with_item(collection, written.item, form, status=status, remarks=written.remarks)

    return view


def _build_remove_view(collection: Collection) -> DescribedView:
    @describe(
        f"Remove one of {collection.name}",
        status=204,
        query=Schema,
        request_headers=("If-Match", REASON),
        errors=(403, 404, 406, 409, 412, 422, 428),
    )
    def view(id: str) -> Response:
        form = choose_form(request, RECORD_FORMS)
        read_values((), request.args)
        check, note = _build_precondition(collection, form), read_reason()
        try:
            remove_item(get_graph(), collection, id, who=get_who(), check=check, note=note)
        except StaleError as error:
            raise tell_versions(error, collection, id, None) from None
        return Response(status=204)

    return view


def _build_precondition(collection: Collection, form: str) -> Callable[[Any | None], None]:
    def check(item: Any | None) -> None:
        is_new = bool(request.if_none_match.star_tag)
        if is_new and item is not None and getattr(item, "retired_on", None) is not None:
            raise ConflictError(
                f"{item.id!r} in {collection.table.name} is retired: its id is not given again. Read it with "
                "?retired=yes, and send If-Match to change it.",
                table=collection.table.name,
                id=item.id,
                retired_on=item.retired_on,
            )
        require_match(request, None if item is None else compute_item_etag(collection, item, form))

    return check


def _build_body_schema(collection: Collection, known_from_path: Sequence[str]) -> Schema:
    """Return the schema of a body whose members named in the path may be left out (documentation only)."""
    return collection.schema(partial=tuple(known_from_path)) if known_from_path else collection.schema()
