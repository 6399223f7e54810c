"""What a query found, as a sheet: the sentence that says how much, and the rows by the names of their variables."""

from __future__ import annotations

import json
from functools import cache
from typing import Any, Final

from api.desk.names import count
from api.desk.sheet import Cell, Column, Ref, Sheet, Table
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.store.query_process import QueryAnswer

_PREFIXES: Final = sorted(ns.PREFIXES.items(), key=lambda pair: -len(pair[1]))
_TITLE: Final = "What the query found"


def tell_answer(answer: QueryAnswer) -> str:
    """Return the sentence that says what a query found; the answer is in the form json or turtle.

    Examples
    --------
    >>> tell_answer(QueryAnswer(b'{"head":{},"boolean":true}', "json", 1, False))
    'Yes.'
    >>> tell_answer(QueryAnswer(b"", "turtle", 2, True))
    'The first 2 statements; there are more.'
    """
    if answer.form == "json":
        told = json.loads(answer.content).get("boolean")
        if told is not None:
            return "Yes." if told else "No."
    what = count(answer.n_rows, "row" if answer.form == "json" else "statement")
    return f"The first {what}; there are more." if answer.is_cut else f"{what[0].upper()}{what[1:]}."


def build_sparql_sheet(answer: QueryAnswer) -> Sheet:
    """Return the sheet of an answer in the form json."""
    table = build_rows_table(answer)
    return Sheet(_TITLE, tell_answer(answer), parts=() if table is None else (table,))


def build_rows_table(answer: QueryAnswer) -> Table | None:
    """Return the rows of an answer in the form json; None for a yes or no."""
    document = json.loads(answer.content)
    if "results" not in document:
        return None
    names = document["head"]["vars"]
    rows = tuple(tuple(_build_cell(binding.get(name)) for name in names) for binding in document["results"]["bindings"])
    return Table("", tuple(map(Column, names)), rows, "Nothing was found.")


def _build_cell(term: dict[str, Any] | None) -> Cell:
    if term is None:
        return None
    value = str(term["value"])
    return _build_iri(value) if term["type"] == "uri" else value


def _build_iri(iri: str) -> Cell:
    if not iri.startswith(ns.ID):
        return compact(iri)
    segment, _, record_id = iri[len(ns.ID) :].partition("/")
    table = _get_tables().get(segment)
    key = ns.key_from_iri(iri)
    return Ref(table, "~".join(key), f"{segment}/{'~'.join(key)}") if table and record_id else f"{segment}/{record_id}"


def compact(iri: str) -> str:
    """Return an IRI with its prefix where it has one of ours.

    Examples
    --------
    >>> compact(ns.SKOS + "broader"), compact("urn:x:a")
    ('skos:broader', 'urn:x:a')
    """
    found = next(((prefix, start) for prefix, start in _PREFIXES if iri.startswith(start)), None)
    return iri if found is None else f"{found[0]}:{iri[len(found[1]) :]}"


@cache
def _get_tables() -> dict[str, str]:
    return {table.segment: name for name, table in TABLES.items()} | {"scale": "scales"}
