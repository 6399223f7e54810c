"""Releases over REST: the names of states, and a name for the present one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response, request
from marshmallow import Schema

from api.desk.drafts import dump_release
from api.errors import FieldError, FieldsError
from api.http import draft_schemas as schemas
from api.http.actors import get_who
from api.http.arguments import require_no_wishes
from api.http.context import get_desk
from api.http.negotiation import JSON
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.record_schemas import load_members
from api.http.request_body import read_json_object
from api.http.responses import add_cache_rules
from api.json_text import dump_json
from api.reason_text import check_reason
from ontology.errors import NewelError


def build_releases_blueprint() -> DescribedBlueprint:
    """Return the blueprint of releases."""
    blueprint = DescribedBlueprint("releases", "Names for states of the framework.")
    name = describe_part("The name of a release.", "version")
    add_route(blueprint, "/releases", {"GET": show_releases, "POST": name_present}, "list", has_states=False)
    add_route(blueprint, "/releases/<version>", {"GET": show_release}, "item", [name], has_states=False)
    return blueprint


def _ask_publication(body: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a body says of a release; FieldsError."""
    members = load_members(schemas.ReleaseBody, body, "release")
    wrong = check_reason(members["reason"])
    if wrong:
        raise FieldsError("The release has 1 wrong value; nothing was stored.", [FieldError("/reason", None, wrong)])
    members["issued"] = members.pop("date", None)
    return members


def read_publication(body: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, NewelError]]:
    """Return what a body says of a release as far as it can be read, and what is wrong with it, by member."""
    try:
        return _ask_publication(body), {}
    except FieldsError as error:
        faults: dict[str, NewelError] = {one.pointer.strip("/"): error for one in error.fields}
    texts = {name: body.get(name) for name in ("version", "reason", "author")}
    return {name: text if isinstance(text, str) else "" for name, text in texts.items()}, faults


@describe("List the releases", returns=schemas.ReleaseSchema(many=True), query=Schema, errors=(403, 406, 422))
def show_releases() -> Response:
    """Show all releases, by revision."""
    require_no_wishes(request)
    return _respond([dump_release(release) for release in get_desk().graph.releases.list_all()])


@describe(
    "Name the present state",
    returns=schemas.ReleaseSchema,
    status=201,
    query=Schema,
    body=schemas.ReleaseBody,
    headers=("Location",),
    errors=(400, 403, 406, 409, 413, 415, 422),
)
def name_present() -> Response:
    """Give the present state a name, and show it."""
    require_no_wishes(request)
    asked, faults = read_publication(read_json_object(request))
    release = get_desk().graph.releases.name_present(who=get_who(), faults=faults, **asked)
    response = _respond(dump_release(release), 201)
    response.headers["Location"] = f"{request.host_url.rstrip('/')}/api/releases/{release.version}"
    return response


@describe("Read a release", returns=schemas.ReleaseSchema, query=Schema, errors=(403, 404, 406, 422))
def show_release(version: str) -> Response:
    """Show one release."""
    require_no_wishes(request)
    return _respond(dump_release(get_desk().graph.releases.get(version)))


def _respond(content: Any, status: int = 200) -> Response:
    return add_cache_rules(Response(dump_json(content), status, content_type=JSON))
