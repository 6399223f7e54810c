"""Frameworks of others over HTTP: which there are, what they hold, and letting one go. Flask."""

from __future__ import annotations

from typing import Any

from flask import Response
from marshmallow import Schema, fields

from api.http.context import get_desk, get_request
from api.http.etags import compute_etag
from api.http.negotiation import ANSWER_FORMS, JSON, choose_form
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.responses import respond_with_tag
from api.http.told_fields import by_name, text, whole
from api.json_text import dump_json
from ontology.live.outside import OutsideFramework


class OutsideFrameworkTold(Schema):
    """A framework of others that stands beside the own one."""

    id = text("Its id; outside:ID names it where a state can be named.")
    label = text("What it is called: its own title, or its id.")
    revision = whole("The revision of its own store.")
    loaded = text("When it was loaded, as 2026-11-24T10:00:00Z.", allow_none=True)
    counts = by_name(fields.Integer(), "How many records each table has that holds any.")


def build_outside_blueprint() -> DescribedBlueprint:
    """Return the blueprint of the outside frameworks."""
    blueprint = DescribedBlueprint("outside", "Frameworks of others, to compare with and map to.")
    listed = describe(
        "The frameworks of others",
        returns=OutsideFrameworkTold(many=True),
        headers=("ETag",),
        request_headers=("If-None-Match",),
        errors=(406, 422),
    )(list_all)
    add_route(blueprint, "/outside", {"GET": listed}, "list")
    one = describe(
        "A framework of others",
        returns=OutsideFrameworkTold,
        headers=("ETag",),
        request_headers=("If-None-Match",),
        errors=(404, 406, 422),
    )(show)
    gone = describe("Let a framework of others go", status=204, errors=(404, 422))(remove)
    add_route(blueprint, "/outside/<id>", {"GET": one, "DELETE": gone}, "one", [describe_part("Its id.")])
    return blueprint


def list_all() -> Response:
    """List them, by id."""
    outside = get_desk().graph.outside
    return _respond([tell(outside.get(one)) for one in outside.list_ids()])


def show(id: str) -> Response:
    """Show one."""
    return _respond(tell(get_desk().graph.outside.get(id)))


def remove(id: str) -> Response:
    """Remove one; what is mapped to it stays mapped."""
    get_desk().graph.outside.remove(id)
    return Response(status=204)


def tell(framework: OutsideFramework) -> dict[str, Any]:
    """Return what is told of one."""
    return {
        "id": framework.id,
        "label": framework.label,
        "revision": framework.revision,
        "loaded": framework.loaded.strftime("%Y-%m-%dT%H:%M:%SZ") if framework.loaded else None,
        "counts": dict(framework.counts),
    }


def _respond(told: Any) -> Response:
    choose_form(get_request(), ANSWER_FORMS)
    content = dump_json(told)
    etag = compute_etag(get_request().full_path, JSON, content)
    return respond_with_tag(etag, lambda: content, is_weak=True)
