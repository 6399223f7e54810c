"""The one door to flask-smorest: the OpenAPI document, and a typed way to describe an operation.

Its own error handler would answer HTML pages with JSON, so it is left out: api.http.handlers has one for all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from http import HTTPStatus
from typing import Any, Final, TypeVar

from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Flask
from flask.typing import ResponseReturnValue
from flask_smorest import Api, Blueprint  # type: ignore[import-untyped]
from marshmallow import Schema, fields

from api.http.negotiation import CALENDAR, DIAGRAM_FORMS, HTML, JSON, PLAN_FORMS, RECORD_FORMS, SHEET_FORMS, WORKBOOK
from api.http.problem_schema import Problem

PROBLEM: Final = "application/problem+json"

View = Callable[..., ResponseReturnValue]
_V = TypeVar("_V", bound=View)


class DescribedApi(Api):  # type: ignore[misc]
    """flask-smorest's Api without its error handler, errors documented as problem documents."""

    ERROR_SCHEMA = Problem

    def _register_error_handlers(self) -> None:
        """Leave the errors to api.http.handlers."""

    def _register_responses(self) -> None:
        for status in HTTPStatus:
            if status >= 400:
                self._register_problem(status.name, status.phrase)
        self._register_problem("DEFAULT_ERROR", "Any other error")

    def _register_etag_headers(self) -> None:
        """Leave flask-smorest's own tags out: api.http.etags has stronger ones."""

    def _register_pagination_header(self) -> None:
        """Leave flask-smorest's own pages out: api.http.pagination links them."""

    def _register_problem(self, name: str, description: str) -> None:
        response = {"description": description, "content": {PROBLEM: {"schema": self.ERROR_SCHEMA}}}
        self.spec.components.response(name, response, lazy=True)


def build_api(app: Flask, version: str) -> Any:
    """Return the described API of an application; the document is served at /api/openapi.json."""
    app.config.update(
        API_TITLE="Newel",
        API_VERSION=version,
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api",
        OPENAPI_JSON_PATH="openapi.json",
    )
    about = "Competencies, levels, roles, courses, people and teams as a graph, and the answers computed from it."
    plugin = MarshmallowPlugin(schema_name_resolver=_get_schema_name)
    api = DescribedApi(app, spec_kwargs={"info": {"description": about}, "marshmallow_plugin": plugin})
    if plugin.converter is not None:  # there is one as soon as the plugin serves a document
        plugin.converter.add_attribute_function(_tell_default)  # type: ignore[no-untyped-call]
    return api


def _tell_default(converter: Any, field: fields.Field[Any], *, ret: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Write a parameter's default as the text that asks for it; "not given" is no value that could be sent."""
    if field.load_default is None:
        ret.pop("default", None)
        if isinstance(ret.get("type"), list):
            ret["type"] = next(kind for kind in ret["type"] if kind != "null")
    elif isinstance(field.load_default, tuple | frozenset):
        ret["default"] = ",".join(map(str, field.load_default))
    return {}


def _get_schema_name(schema: Schema | type[Schema] | str) -> str:
    """Return the name of a schema in the document; a body some of whose members the path holds has its own."""
    if isinstance(schema, str):
        return schema
    name = (schema if isinstance(schema, type) else type(schema)).__name__
    if isinstance(schema, Schema) and isinstance(schema.partial, tuple | list | set | frozenset) and schema.partial:
        return f"{name}Without{''.join(part.title().replace('_', '') for part in schema.partial)}"
    return name


def build_blueprint(name: str, description: str) -> Any:
    """Return an empty blueprint below /api; `name` groups its operations in the document."""
    return Blueprint(name, __name__, url_prefix="/api", description=description)


def add_route(
    blueprint: Any, rule: str, views: Mapping[str, View], endpoint: str, parameters: Sequence[Mapping[str, Any]] = ()
) -> None:
    """Serve a path: one view per method. GET brings HEAD, and Flask answers OPTIONS."""
    for method, view in views.items():
        blueprint.add_url_rule(
            rule,
            endpoint=f"{endpoint}-{method.lower()}",
            view_func=view,
            methods=[method],
            parameters=[dict(parameter) for parameter in parameters],
        )


def describe(
    summary: str,
    *,
    returns: type[Schema] | Schema | Mapping[str, Any] | None = None,
    status: int = 200,
    media_types: Sequence[str] = (JSON,),
    query: type[Schema] | None = None,
    body: type[Schema] | Schema | None = None,
    headers: Sequence[str] = (),
    request_headers: Sequence[str] = (),
    may_create: bool = False,
    errors: Sequence[int] = (),
    description: str = "",
) -> Callable[[_V], _V]:
    """Describe an operation for the OpenAPI document; what it does is not changed.

    Parameters
    ----------
    returns : schema
        Of the JSON body; other media types are documented as text.
    query, body : schema
        Of the parameters and the request body.
    headers, request_headers : names
        Headers of the successful response and of the request, each known to `_HEADERS`.
    may_create : bool
        Whether it may also answer 201 with the address of a new record.
    errors : HTTP statuses
        Problem documents it may answer with.
    """
    operation: dict[str, Any] = {"summary": summary, "responses": {}}
    if description:
        operation["description"] = description
    success: dict[str, Any] = {"description": HTTPStatus(status).phrase}
    if returns is not None:
        success["content"] = {
            media_type: {"schema": returns if media_type == JSON else dict(_OTHER_FORMS[media_type])}
            for media_type in media_types
        }
    if headers:
        success["headers"] = {name: _HEADERS[name] for name in headers}
    operation["responses"][str(status)] = success
    if may_create:
        created = success | {"description": HTTPStatus(201).phrase}
        created["headers"] = {**success["headers"], "Location": _HEADERS["Location"]}
        operation["responses"]["201"] = created
    if "If-None-Match" in request_headers and body is None:
        operation["responses"]["304"] = {"description": "Unchanged since the tag given"}
    for code in (*errors, 421):
        operation["responses"][str(code)] = HTTPStatus(code).name
    parameters: list[dict[str, Any]] = [
        {"in": "header", "name": name, "schema": {"type": "string"}, "description": _REQUEST_HEADERS[name]}
        for name in request_headers
    ]
    if query is not None:
        parameters.append({"in": "query", "schema": query})
    forms = [_FORMS[media_type] for media_type in media_types]
    about = "The form of the answer; it wins over Accept."
    parameters.append(
        {"in": "query", "name": "format", "schema": {"type": "string", "enum": forms}, "description": about}
    )
    operation["parameters"] = parameters
    if body is not None:
        operation["requestBody"] = {"required": True, "content": {JSON: {"schema": body}}}

    def decorate(view: _V) -> _V:
        described: _V = Blueprint.doc(**operation)(view)
        return described

    return decorate


_FORMS: Final = {
    media_type: name
    for forms in (RECORD_FORMS, DIAGRAM_FORMS, PLAN_FORMS, SHEET_FORMS)
    for name, media_type in forms.items()
}
_OTHER_FORMS: Final[Mapping[str, Mapping[str, Any]]] = {
    "application/ld+json": {"type": "object"},
    "text/turtle": {"type": "string"},
    "text/vnd.graphviz": {"type": "string"},
    "image/svg+xml": {"type": "string"},
    "image/png": {"type": "string", "format": "binary"},
    CALENDAR: {"type": "string"},
    HTML: {"type": "string"},
    WORKBOOK: {"type": "string", "format": "binary"},
}
_HEADERS: Final[Mapping[str, Mapping[str, Any]]] = {
    "ETag": {"schema": {"type": "string"}, "description": "Tag of this representation."},
    "Location": {"schema": {"type": "string"}, "description": "Address of the new record."},
    "Link": {"schema": {"type": "string"}, "description": "RFC 8288 links: first, prev, next, last."},
    "X-Pagination": {"schema": {"type": "string"}, "description": "JSON: total, total_pages, page, page_size."},
    "Newel-Remarks": {"schema": {"type": "string"}, "description": "JSON list of remarks on what was stored."},
}
_REQUEST_HEADERS: Final[Mapping[str, str]] = {
    "If-Match": "Tag the record was read with (or *): wanted when it exists.",
    "If-None-Match": "Tag of what the caller has; on PUT: * to make a new record.",
}
