"""The framework to take away, over HTTP: SKOS, schema.org, CASE, everything as linked data, and the dataset. Flask."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from http import HTTPStatus
from typing import Final

from flask import Response
from marshmallow import Schema

from api.desk.exports import CASE, DATASET, LINKED_DATA, SCHEMA_ORG, SKOS, Exported, build_export, dump_package
from api.desk.parameters import Asks
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request
from api.http.etags import compute_etag
from api.http.negotiation import JSON, JSON_LD, TURTLE, choose_form
from api.http.openapi import DescribedBlueprint, DescribedView, add_route, describe
from api.http.responses import respond_with_tag
from loaders.linked_data.writer import iterate_linked_data
from ontology.errors import InputError

#: The header that tells, as JSON, how many of what a form cannot hold.
LEFT_OUT: Final = "Newel-Left-Out"
_N_TRIPLES: Final = "application/n-triples"
_LINKED: Final = {"turtle": TURTLE, "json-ld": JSON_LD, "n-triples": _N_TRIPLES}
_FORMS: Final[Mapping[str, Mapping[str, str]]] = {
    SKOS: _LINKED,
    SCHEMA_ORG: {"json-ld": JSON_LD, "turtle": TURTLE, "n-triples": _N_TRIPLES},
    CASE: {"json": JSON},
    LINKED_DATA: _LINKED,
    DATASET: {"turtle": TURTLE, "json-ld": JSON_LD, "n-triples": _N_TRIPLES},
}
_ABOUT: Final = {
    SKOS: "The framework as concept schemes of SKOS",
    SCHEMA_ORG: "The framework as terms, courses and occupations of schema.org",
    CASE: "The competencies and scales as a CASE 1.1 package",
    LINKED_DATA: "Every statement of the framework and the offers",
    DATASET: "The framework as a dataset: DCAT 3 and VoID",
}
#: These are of the present state, as it is stored.
_PRESENT_ONLY: Final = (LINKED_DATA, DATASET)


def build_exports_blueprint() -> DescribedBlueprint:
    """Return the blueprint of the forms."""
    blueprint = DescribedBlueprint("exports", "The framework to take away, by open standards; no team, no person.")
    for name in _FORMS:
        path = f"/{name}" if name == DATASET else f"/exports/{name}"
        add_route(blueprint, path, {"GET": _describe(name)}, f"export-{name}", has_states=name not in _PRESENT_ONLY)
    return blueprint


def _describe(name: str) -> DescribedView:
    forms = tuple(_FORMS[name].values())
    described = describe(
        _ABOUT[name],
        returns={"type": "object"} if name == CASE else Schema,
        media_types=forms,
        headers=("ETag", LEFT_OUT),
        request_headers=("If-None-Match",),
        errors=(406, 422),
        description=f"{LEFT_OUT} tells, as JSON, how many of what it cannot hold.",
    )
    return described(_build_view(name))


def _build_view(name: str) -> Callable[[], Response]:
    def view() -> Response:
        request, desk = get_request(), get_desk()
        form = choose_form(request, _FORMS[name])
        read_asked(Asks, request.args)
        state = desk.get_state()
        if name in _PRESENT_ONLY and state.told is not None:
            raise InputError("This is told of the present state only.", parameter=next(iter(state.asked.texts)))
        exported = build_export(desk.graph, state.snapshot, name, request.host_url)
        content, media_type = _dump(exported, form), _FORMS[name][form]
        etag = compute_etag(request.full_path + state.key, media_type, content)
        response = respond_with_tag(etag, lambda: content, media_type)
        if response.status_code == HTTPStatus.OK:
            response.headers[LEFT_OUT] = json.dumps(dict(exported.left_out))
        return response

    return view


def _dump(exported: Exported, form: str) -> bytes:
    if exported.package is not None:
        return dump_package(exported.package)
    return "".join(iterate_linked_data(exported.quads, "nt" if form == "n-triples" else form)).encode()
