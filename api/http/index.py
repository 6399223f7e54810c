"""The index of the API and its health: collections with counts, answers and pictures as URI templates. Flask."""

from __future__ import annotations

from flask import Response, request
from marshmallow import Schema, fields

from api.desk.exports import CASE, DATASET, LINKED_DATA, SCHEMA_ORG, SKOS
from api.desk.parameters import Asks, list_parameters
from api.desk.question import PERSON, Question, SubjectKind
from api.desk.states import LANGUAGE, STATE_PARAMETERS
from api.http.arguments import require_no_wishes
from api.http.collection import COLLECTIONS
from api.http.context import get_snapshot
from api.http.negotiation import JSON
from api.http.openapi import DescribedBlueprint, add_route, describe
from api.http.pictures import AskPicture, list_record_pictures
from api.http.responses import add_cache_rules
from api.http.told_fields import by_name, several, text, whole
from api.json_text import dump_json
from api.questions import list_questions


class IndexCollection(Schema):
    """One collection of records."""

    name = text("The table.")
    href = text("Its path.")
    count = whole("How many records there are.")


class Index(Schema):
    """Where to begin."""

    collections = several(fields.Nested(IndexCollection), "The collections of records.")
    answers = by_name(fields.String(), "Answers as URI templates (RFC 6570).")
    diagrams = by_name(fields.String(), "Diagrams as URI templates (RFC 6570).")
    exports = by_name(fields.String(), "The framework to take away, by form.")
    sparql = text("Where the framework is asked in SPARQL.")
    openapi = text("The OpenAPI document.")
    browse = text("The same document, to be read and tried in a browser.")
    health = text("Whether the service answers.")
    revision = whole("State of the store.")


class Health(Schema):
    """Whether the service answers."""

    status = text("ok")
    revision = whole("State of the store it answers from.")


def build_index_blueprint() -> DescribedBlueprint:
    """Return the blueprint of the index."""
    blueprint = DescribedBlueprint("index", "Where to begin.")
    add_route(blueprint, "/", {"GET": show_index}, "index")
    add_route(blueprint, "/health", {"GET": show_health}, "health")
    return blueprint


def list_answer_templates() -> dict[str, str]:
    """Return the answers as URI templates, by a name of each."""
    return {
        _name(question, kind): _build_template("/api" + question.get_path(kind, "{id}"), asks)
        for question in list_questions()
        for kind, asks in question.asks.items()
    }


def list_picture_templates() -> dict[str, str]:
    """Return the pictures as URI templates, by a name of each."""
    templates = {
        kind.word: _build_template(f"/api/{kind.value}/{{id}}/diagram", AskPicture) for kind in list_record_pictures()
    }
    for question in list_questions():
        if question.draw is not None:
            for kind, asks in question.asks.items():
                path = f"/api{question.get_path(kind, '{id}')}/diagram"
                templates[_name(question, kind)] = _build_template(path, asks, AskPicture)
    return templates


def _name(question: Question, kind: SubjectKind) -> str:
    """Return the name of a question; what is asked of people and of roles has a name for each."""
    name = question.name.replace("-", "_")
    return f"{name}_of_{kind.value}" if PERSON in question.asks and kind is not PERSON else name


def _build_template(path: str, *asks: type[Asks]) -> str:
    names = [parameter.name for one in asks for parameter in list_parameters(one)]
    return f"{path}{{?{','.join(dict.fromkeys((*names, 'format', *STATE_PARAMETERS, LANGUAGE)))}}}"


@describe("What there is", returns=Index, query=Schema, errors=(406, 422))
def show_index() -> Response:
    """Show the collections with their counts, and the answers as URI templates."""
    require_no_wishes(request)
    snapshot = get_snapshot()
    collections = [
        {"name": c.name, "href": f"/api/{c.name}", "count": len(c.get_items(snapshot))} for c in COLLECTIONS.values()
    ]
    index = {
        "collections": collections,
        "answers": list_answer_templates(),
        "diagrams": list_picture_templates(),
        "exports": {
            **{name: f"/api/exports/{name}" for name in (SKOS, SCHEMA_ORG, CASE, LINKED_DATA)},
            DATASET: "/api/dataset",
        },
        "sparql": "/api/sparql",
        "openapi": "/api/openapi.json",
        "browse": "/api/browse/",
        "health": "/api/health",
        "revision": snapshot.revision,
    }
    return add_cache_rules(Response(dump_json(index), content_type=JSON))


@describe("Whether the service answers", returns=Health, query=Schema, errors=(406, 422))
def show_health() -> Response:
    """Show that the service answers, and the revision it answers from."""
    require_no_wishes(request)
    health = {"status": "ok", "revision": get_snapshot().revision}
    return add_cache_rules(Response(dump_json(health), content_type=JSON))
