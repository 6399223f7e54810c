"""The one door to apispec: the OpenAPI document, and a typed way to describe an operation.

What is served and what is told of it are one call (`add_route`); the document is written when it is first asked for.
A path names its own parameters, errors are problem documents, and reading what is asked is api.http.parameter_schemas'
work: plain apispec is all that is needed, without a web layer of its own around it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from http import HTTPStatus
from typing import Any, Final

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Blueprint, Flask, Response
from flask.typing import ResponseReturnValue
from marshmallow import Schema, fields

from api.desk.sparql import GRAPH_FORMS, ROW_FORMS
from api.desk.states import LANGUAGE, LANGUAGE_WORDS, STATE_PARAMETERS
from api.http.context import is_read
from api.http.negotiation import (
    CALENDAR,
    COMMIT_FORMS,
    DIAGRAM_FORMS,
    HTML,
    JSON,
    N_QUADS,
    PLAN_FORMS,
    RECORD_FORMS,
    SHEET_FORMS,
    WORKBOOK,
)
from api.http.problem_schema import Problem
from api.json_text import dump_json

PROBLEM: Final = "application/problem+json"

View = Callable[..., ResponseReturnValue]
_ABOUT: Final = "Competencies, levels, roles, courses, people and teams as a graph, and the answers computed from it."
_VARIABLE: Final = re.compile(r"<(?:[^:<>]+:)?([^<>]+)>")


@dataclass(frozen=True, slots=True)
class DescribedView:
    """A view and its operation object of the document (OpenAPI Specification 3.1.0, section 4.8.10)."""

    view: View
    operation: dict[str, Any]


class DescribedBlueprint(Blueprint):
    """A blueprint below /api that remembers its path items; its name groups its operations in the document."""

    def __init__(self, name: str, description: str) -> None:
        super().__init__(name, __name__, url_prefix="/api")
        self.description = description
        self.paths: list[tuple[str, dict[str, dict[str, Any]], list[dict[str, Any]]]] = []


def serve_described(app: Flask, version: str, blueprints: Sequence[DescribedBlueprint]) -> None:
    """Serve blueprints, and the document about them at /api/openapi.json."""
    for blueprint in blueprints:
        app.register_blueprint(blueprint)

    @cache
    def write() -> bytes:
        return dump_json(_build_document(version, blueprints))

    app.add_url_rule("/api/openapi.json", "openapi", lambda: Response(write(), content_type=JSON))


def _build_document(version: str, blueprints: Sequence[DescribedBlueprint]) -> dict[str, Any]:
    plugin = MarshmallowPlugin(schema_name_resolver=_get_schema_name)
    spec = APISpec("Newel", version, "3.1.0", [plugin], info={"description": _ABOUT})
    assert plugin.converter is not None  # there is one as soon as the plugin serves a document
    plugin.converter.add_attribute_function(_tell_default)  # type: ignore[no-untyped-call]
    problems = {status.name: status.phrase for status in HTTPStatus if status >= 400}
    for name, description in (problems | {_ANY_ERROR: "Any other error"}).items():
        response = {"description": description, "content": {PROBLEM: {"schema": Problem}}}
        spec.components.response(name, response, lazy=True)
    for blueprint in blueprints:
        spec.tag({"name": blueprint.name, "description": blueprint.description})
        for path, operations, parameters in blueprint.paths:
            # apispec writes into what it is given
            own = {
                method: {**deepcopy(operation), "tags": [blueprint.name]} for method, operation in operations.items()
            }
            spec.path(path, operations=own, parameters=deepcopy(parameters))
    return spec.to_dict()


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


def add_route(
    blueprint: DescribedBlueprint,
    rule: str,
    views: Mapping[str, DescribedView],
    endpoint: str,
    parameters: Sequence[Mapping[str, Any]] = (),
    *,
    has_states: bool = True,
    is_in_drafts: bool = False,
) -> None:
    """Serve a path: one view per method; `parameters` are those of the path. GET brings HEAD, Flask answers OPTIONS.

    `has_states`: whether it can be asked of another state than the present one; `is_in_drafts`: whether what changes it
    changes a draft where one is named.
    """
    for method, described in views.items():
        blueprint.add_url_rule(rule, f"{endpoint}-{method.lower()}", described.view, methods=[method])
    operations = {method.lower(): described.operation for method, described in views.items()}
    if "get" in operations and has_states:
        known = operations["get"]["parameters"]
        in_languages = deepcopy(_LANGUAGES) if is_read(blueprint.name) and not _is_about_languages(known) else []
        operations["get"] = operations["get"] | {"parameters": [*known, *deepcopy(_STATE), *in_languages]}
    for method in operations.keys() - {"get"} if is_in_drafts else ():
        known = operations[method]["parameters"]
        operations[method] = operations[method] | {"parameters": [*known, deepcopy(_IN_DRAFT)]}
    path = _VARIABLE.sub(r"{\1}", f"{blueprint.url_prefix}{rule}")
    blueprint.paths.append((path, operations, [dict(parameter) for parameter in parameters]))


def describe_part(about: str, name: str = "id", kind: str = "string") -> dict[str, Any]:
    """Return a part of a path that stands for something, with a sentence on it."""
    return {"in": "path", "name": name, "required": True, "schema": {"type": kind}, "description": about}


def _describe_text(name: str, about: str, where: str = "query") -> dict[str, Any]:
    """Return a text beside the path that may be given."""
    return {"in": where, "name": name, "schema": {"type": "string"}, "description": about}


def _is_about_languages(parameters: Iterable[Mapping[str, Any]]) -> bool:
    """Whether one of the parameters is the language that is asked about."""
    schemas = (one["schema"] for one in parameters if one["in"] == "query")
    return any(isinstance(one, type) and LANGUAGE in vars(one).get("_declared_fields", {}) for one in schemas)


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
) -> Callable[[View], DescribedView]:
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
    operation: dict[str, Any] = {"summary": summary, "responses": {"default": _ANY_ERROR}}
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
    if 404 in errors and body is None and 428 not in errors:
        # what is not in use any more leads on, or tells what became of it
        errors = (*errors, 410)
        operation["responses"]["301"] = {"description": "To what took the place of something retired"}
    for code in (*errors, 421):
        operation["responses"][str(code)] = HTTPStatus(code).name
    parameters = [_describe_text(name, _REQUEST_HEADERS[name], "header") for name in request_headers]
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

    return lambda view: DescribedView(view, operation)


_STATE: Final = [_describe_text(name, about) for name, about in STATE_PARAMETERS.items()]
_ACCEPTED: Final = "Languages that are read, where the parameter names none (RFC 9110, section 12.5.4)."
_LANGUAGES: Final = [
    _describe_text(LANGUAGE, LANGUAGE_WORDS),
    _describe_text("Accept-Language", _ACCEPTED, "header"),
]
_IN_DRAFT: Final = _describe_text("draft", "The draft that is changed; everybody's state stays as it is.")
_ANY_ERROR: Final = "DEFAULT_ERROR"
_FORMS: Final = {
    media_type: name
    for forms in (RECORD_FORMS, COMMIT_FORMS, DIAGRAM_FORMS, PLAN_FORMS, SHEET_FORMS, ROW_FORMS, GRAPH_FORMS)
    for name, media_type in forms.items()
}
_OTHER_FORMS: Final[Mapping[str, Mapping[str, Any]]] = {
    "application/ld+json": {"type": "object"},
    "text/turtle": {"type": "string"},
    **{media_type: {"type": "string"} for media_type in (*ROW_FORMS.values(), *GRAPH_FORMS.values())},
    ROW_FORMS["json"]: {"type": "object"},
    N_QUADS: {"type": "string"},
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
    "Newel-Left-Out": {"schema": {"type": "string"}, "description": "JSON: how many of what the form cannot hold."},
    "Newel-Cut": {"schema": {"type": "string"}, "description": "rows, where there were more than are told."},
    "Newel-Remarks": {"schema": {"type": "string"}, "description": "JSON list of remarks on what was stored."},
}
_REQUEST_HEADERS: Final[Mapping[str, str]] = {
    "If-Match": "Tag the record was read with (or *): wanted when it exists.",
    "If-None-Match": "Tag of what the caller has; on PUT: * to make a new record.",
    "Newel-Reason": "Why, in 1 to 500 characters (UTF-8): kept in the history. No names of people here.",
}
