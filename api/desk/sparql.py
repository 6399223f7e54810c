"""A SPARQL query put to the store: what is refused before it is asked, within which limits, of which graphs.

It is answered from the present state of the framework alone: nothing about persons, no draft and no past.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from api.errors import BusyError
from api.settings import Settings
from ontology.errors import ForbiddenError, LimitError, MalformedQueryError, QueryProcessesBusyError, shorten
from ontology.store.engine import Store
from ontology.store.query_process import Query, QueryAnswer, QueryLimits
from ontology.store.query_text import find_refusal
from ontology.store.queryable import ASKED_GRAPHS

#: Form -> media type of the answer to SELECT and ASK; to CONSTRUCT and DESCRIBE.
ROW_FORMS: Final[Mapping[str, str]] = {
    "json": "application/sparql-results+json",
    "xml": "application/sparql-results+xml",
    "csv": "text/csv",
    "tsv": "text/tab-separated-values",
}
GRAPH_FORMS: Final[Mapping[str, str]] = {"turtle": "text/turtle", "n-triples": "application/n-triples"}


def answer_query(
    store: Store,
    settings: Settings,
    text: str,
    *,
    rows_form: str = "json",
    graph_form: str = "turtle",
    default_graphs: Sequence[str] = (),
    named_graphs: Sequence[str] = (),
) -> QueryAnswer:
    """Return the answer to a query.

    Parameters
    ----------
    rows_form, graph_form : str
        Of `ROW_FORMS` and `GRAPH_FORMS`; "" where none of them is taken.
    default_graphs, named_graphs : IRIs
        The graphs it is asked of; neither: the vocabulary, the framework and the offers, all together and by name.

    Raises
    ------
    MalformedQueryError
        It is no query, or holds FROM or SERVICE.
    ForbiddenError
        A graph is none of those three.
    LimitError, QueryLimitError
        Its text is too long; it takes more time, memory or bytes than it may.
    QueryFormError
        None of the forms of its answer is taken.
    UnavailableError
        Too many queries are being answered, or none can be.
    """
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > settings.query_text_bytes:
        raise LimitError(f"A query may have {settings.query_text_bytes:,} bytes; this one has {size:,}.")
    refusal = find_refusal(text)
    if refusal:
        raise MalformedQueryError(refusal)
    for graph in (*default_graphs, *named_graphs):
        if graph not in ASKED_GRAPHS:
            raise ForbiddenError(f"The graph {shorten(graph)!r} cannot be asked; {', '.join(ASKED_GRAPHS)} can.")
    is_chosen = bool(default_graphs or named_graphs)
    query = Query(
        text,
        default_graphs if is_chosen else ASKED_GRAPHS,
        named_graphs if is_chosen else ASKED_GRAPHS,
        rows_form,
        graph_form,
    )
    try:
        return store.queries.ask(query, _get_limits(settings))
    except QueryProcessesBusyError as error:
        raise BusyError(error.detail) from None


def _get_limits(settings: Settings) -> QueryLimits:
    return QueryLimits(
        settings.query_time_limit_s,
        settings.query_rows_max,
        settings.query_answer_bytes,
        settings.query_memory_bytes,
        settings.query_processes_max,
    )
