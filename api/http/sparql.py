"""The SPARQL endpoint: queries by the SPARQL 1.1 Protocol (W3C, 21 March 2013), section 2.1; no updates. Flask.

It is answered from the present state: nothing about persons, no draft and no past.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from flask import Response
from werkzeug.datastructures import MultiDict

from api.desk.sparql import GRAPH_FORMS, ROW_FORMS, answer_query
from api.errors import MediaTypeError, NotAcceptableError, ParameterError, WrongParameter
from api.http.context import get_desk, get_request, get_settings
from api.http.negotiation import JSON, choose_form, name_content
from api.http.openapi import DescribedBlueprint, DescribedView, add_route, describe
from api.http.responses import add_cache_rules
from ontology.errors import MalformedQueryError

#: The header that tells what of an answer was cut.
CUT: Final = "Newel-Cut"
_FORM: Final = "application/x-www-form-urlencoded"
_QUERY: Final = "application/sparql-query"
_GRAPHS: Final = ("default-graph-uri", "named-graph-uri")
_ABOUT_GRAPHS: Final = {
    "default-graph-uri": "A graph that is asked by default: the vocabulary, the framework or the offers.",
    "named-graph-uri": "A graph that can be named in the query: one of the same three.",
}
_KNOWN: Final = ("query", *_GRAPHS, "format")
_ABOUT: Final = (
    "Asked of the vocabulary, the framework and the offers, each a named graph, together the default graph. Nothing "
    "about persons and teams, no draft and no past. FROM and SERVICE are refused. What takes too long or too much "
    "memory is 422 query-limit; of too many rows the first are told, and Newel-Cut says so."
)


def build_sparql_blueprint() -> DescribedBlueprint:
    """Return the blueprint of the endpoint."""
    blueprint = DescribedBlueprint("sparql", "The framework asked in SPARQL 1.1.")
    forms = (*ROW_FORMS.values(), *GRAPH_FORMS.values())
    described = {
        method: describe(
            "Answer a SPARQL query",
            returns={"type": "object"},
            media_types=forms,
            headers=(CUT,),
            errors=(400, 403, 406, 413, 415, 422, 503),
            description=_ABOUT,
        )(answer_request)
        for method in ("GET", "POST")
    }
    query: dict[str, Any] = {"in": "query", "name": "query", "required": True, "schema": {"type": "string"}}
    query["description"] = "The query: SELECT, ASK, CONSTRUCT or DESCRIBE (SPARQL 1.1)."
    graphs = [
        {"in": "query", "name": name, "schema": {"type": "array", "items": {"type": "string"}}, "explode": True}
        | {"description": _ABOUT_GRAPHS[name]}
        for name in _GRAPHS
    ]
    body = {_QUERY: {"schema": {"type": "string"}}, _FORM: {"schema": _describe_form()}}
    views = {
        "GET": DescribedView(answer_request, _add(described["GET"].operation, [query, *graphs])),
        "POST": DescribedView(
            answer_request,
            _add(described["POST"].operation, graphs) | {"requestBody": {"required": True, "content": body}},
        ),
    }
    add_route(blueprint, "/sparql", views, "sparql", has_states=False)
    return blueprint


def _describe_form() -> dict[str, Any]:
    several = {"type": "array", "items": {"type": "string"}}
    return {
        "type": "object",
        "required": ["query"],
        "properties": {"query": {"type": "string"}, **dict.fromkeys(_GRAPHS, several)},
        "additionalProperties": False,
    }


def _add(operation: Mapping[str, Any], parameters: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    return {**operation, "parameters": [*operation["parameters"], *parameters]}


def answer_request() -> Response:
    """Answer the query of a request."""
    arguments, text = _read_request()
    rows_form, graph_form = _choose(ROW_FORMS), _choose(GRAPH_FORMS)
    if not (rows_form or graph_form):
        choose_form(get_request(), {**ROW_FORMS, **GRAPH_FORMS})  # says what is there
    default_graphs, named_graphs = (arguments.getlist(name) for name in _GRAPHS)
    answer = answer_query(
        get_desk().graph.store,
        get_settings(),
        text,
        rows_form=rows_form,
        graph_form=graph_form,
        default_graphs=default_graphs,
        named_graphs=named_graphs,
    )
    media_type = {**ROW_FORMS, **GRAPH_FORMS}[answer.form]
    response = Response(answer.content, content_type=name_content(media_type))
    if answer.is_cut:
        response.headers[CUT] = "rows"
    return add_cache_rules(response)


def _read_request() -> tuple[MultiDict[str, str], str]:
    """Return the parameters and the query of a request, as its method and media type say (section 2.1)."""
    request = get_request()
    if request.method != "POST":
        _require_known(request.args, _KNOWN)
        return request.args, _get_query(request.args)
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise MediaTypeError("Send the body without compression.")
    if request.mimetype == _FORM:
        _require_known(request.args, ("format",))
        _require_known(request.form, _KNOWN)
        return request.form, _get_query(request.form)
    if request.mimetype == _QUERY:
        _require_known(request.args, (*_GRAPHS, "format"))
        try:
            return request.args, request.get_data().decode("utf-8")
        except UnicodeDecodeError:
            raise MalformedQueryError("The query is not UTF-8 text.") from None
    raise MediaTypeError(f"Send a query as {_QUERY} or {_FORM}, not {request.mimetype or 'without a Content-Type'}.")


def _get_query(arguments: MultiDict[str, str]) -> str:
    queries = arguments.getlist("query")
    if len(queries) != 1:
        raise MalformedQueryError(f"The parameter 'query' is to be given once, not {len(queries)} times.")
    return queries[0]


def _require_known(arguments: MultiDict[str, str], known: Sequence[str]) -> None:
    if "update" in arguments:
        raise MalformedQueryError("Nothing can be changed here: this address answers queries only.")
    wrong = [
        WrongParameter(name, text, f"is not known here; known are {', '.join(known)}")
        for name, text in arguments.items()
        if name not in known
    ]
    if wrong:
        raise ParameterError(*wrong)


def _choose(forms: Mapping[str, str]) -> str:
    """Return the form that is taken of some, "" for none; who takes JSON takes that of rows."""
    request = get_request()
    for offered in (forms, {"json": JSON} if "json" in forms else {}):
        try:
            if offered:
                return choose_form(request, offered)
        except NotAcceptableError:
            continue
    return ""
