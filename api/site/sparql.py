"""The page where the framework is asked in SPARQL: /sparql."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, Response

from api.desk.parameters import Asks, param
from api.desk.sparql import answer_query
from api.errors import ParameterError, WrongParameter, get_kind
from api.http.arguments import read_asked
from api.http.context import get_desk, get_request, get_settings
from api.pages.sparql import build_sparql_view, describe_sparql, find_example
from api.site.sending import send_page
from ontology.errors import NewelError

__all__ = ["build_blueprint"]


@dataclass(frozen=True, kw_only=True)
class AskSparql(Asks):
    """What is asked in SPARQL?"""

    query: str = param("The query.", default="")
    example: str = param("Which of the worked queries.", default="")


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("sparql-page", __name__)
    blueprint.add_url_rule("/sparql", "show", show_sparql)
    return blueprint


def show_sparql() -> Response:
    """Show what a query found, or why it was not answered, and the worked ones."""
    asked = read_asked(AskSparql, get_request().args)
    text = asked.query.replace("\r\n", "\n")
    if asked.example and not text.strip():
        example = find_example(asked.example)
        if example is None:
            raise ParameterError(WrongParameter("example", asked.example, "must be one of the worked queries"))
        text = example.text
    revision = get_desk().get_state().snapshot.revision
    if not text.strip():
        return send_page(describe_sparql(build_sparql_view("", None, "", revision)))
    try:
        answer = answer_query(get_desk().graph.store, get_settings(), text)
    except NewelError as error:
        view = build_sparql_view(text, None, error.detail, revision)
        return send_page(describe_sparql(view), status=get_kind(error).status)
    return send_page(describe_sparql(build_sparql_view(text, answer, "", revision)))
