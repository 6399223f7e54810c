"""From records to triples: one node a record, canonical lexical forms, defaults not written.

Lists use IRI cells, so no blank node ever enters the store.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from operator import attrgetter
from typing import Any, Final

from ontology.mapping.tagged import build_tagged_quads
from ontology.model.columns import MANY, Column, RecordFields, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES, get_reference_segment
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad

_NIL: Final = ns.iri_term(ns.RDF + "nil")


def format_number(value: float) -> str:
    """Return the shortest decimal text of a number, never in exponent form.

    Examples
    --------
    >>> format_number(7.50), format_number(3.0), format_number(1e-7)
    ('7.5', '3', '0.0000001')
    """
    text = format(Decimal(repr(float(value))), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _encode_number(value: Any) -> str:
    return ns.typed_term(format_number(value), "decimal")


def _encode_integer(value: Any) -> str:
    return ns.typed_term(str(value), "integer")


def _encode_flag(value: Any) -> str:
    return ns.typed_term("true" if value else "false", "boolean")


def _encode_date(value: date) -> str:
    return ns.typed_term(value.isoformat(), "date")


@cache
def _get_encoder(column: Column) -> Callable[[Any], str]:
    """Return the function that turns one value of a column into a term."""
    if column.refers_to:
        segment = get_reference_segment(column.refers_to)
        return lambda value: ns.iri_term(ns.record_iri(segment, value))
    encoders: dict[str, Callable[[Any], str]] = {
        "text": ns.text_term,
        "texts": ns.text_term,
        "choice": ns.text_term,
        "iri": ns.iri_term,
        "iris": ns.iri_term,
        "integer": _encode_integer,
        "number": _encode_number,
        "flag": _encode_flag,
        "date": _encode_date,
    }
    return encoders[column.kind]


@cache
def _get_plan(table_name: str) -> tuple[tuple[Column, str, Callable[[Any], str]], ...]:
    columns = (c for c in TABLES[table_name].columns if c.kind != "id")
    return tuple((c, ns.iri_term(c.iri), _get_encoder(c)) for c in columns)


@cache
def _get_predicates(table_name: str) -> frozenset[str]:
    return frozenset(predicate for _, predicate, _ in _get_plan(table_name))


def get_predicates(table: Table) -> frozenset[str]:
    """Return the predicates (N-Triples text) that hold the columns of this table; a replaced record loses these."""
    return _get_predicates(table.name)


def build_quads(table: Table, record: Any) -> list[Quad]:
    """Return the quads of one record; a value equal to its default is not written."""
    return build_table_quads(table, [record])


def build_table_quads(table: Table, records: Sequence[Any]) -> list[Quad]:
    """Return the quads of some records of one table, column by column: far faster than record by record. O(n)."""
    if table is TRANSLATIONS:
        return build_tagged_quads(records)
    graph = table.graph
    subjects = [ns.iri_term(iri) for iri in table.build_iris(records)]
    class_term = ns.iri_term(table.class_iri)
    quads: list[Quad] = [(graph, subject, ns.RDF_TYPE, class_term) for subject in subjects]
    for column, predicate, encode in _get_plan(table.name):
        values = map(attrgetter(column.attribute), records)
        written = _keep_written(column, subjects, values, records)
        if column.kind in MANY:
            quads += [(graph, subject, predicate, encode(part)) for subject, parts in written for part in parts]
        elif column.kind == "text":
            quads += [(graph, subject, predicate, encode(value)) for subject, value in written]
        else:
            # levels, dates and references repeat: each value is encoded once
            terms = {value: encode(value) for value in {value for _, value in written}}
            quads += [(graph, subject, predicate, terms[value]) for subject, value in written]
    return quads


def _keep_written(
    column: Column, subjects: Sequence[str], values: Iterable[Any], records: Sequence[Any]
) -> list[tuple[str, Any]]:
    """Return (subject, value) where a value is there and is not the default."""
    pairs = zip(subjects, values, strict=True)
    if column.is_required:
        return [(subject, value) for subject, value in pairs if value is not None]
    if not callable(column.default):
        default = column.default
        return [(subject, value) for subject, value in pairs if value is not None and value != default]
    defaults = (column.default(RecordFields(record)) for record in records)
    return [
        (subject, value)
        for (subject, value), default in zip(pairs, defaults, strict=True)
        if value is not None and value != default
    ]


def build_scale_quads(scale: str, levels: Sequence[ScaleLevel]) -> list[Quad]:
    """Return the quads that make an ordered collection of a scale's levels, in the order of ranks."""
    if not levels:
        return []
    graph = ns.GRAPH_FRAMEWORK
    node = ns.iri_term(ns.record_iri("scale", scale))
    ordered = sorted(levels, key=lambda level: level.rank)
    members = [ns.iri_term(TABLES["scales"].get_iri(level)) for level in ordered]
    cells = [ns.iri_term(ns.record_iri("scale-cell", scale, str(level.rank))) for level in ordered]
    quads: list[Quad] = [
        (graph, node, ns.RDF_TYPE, ns.iri_term(ns.SKOS + "OrderedCollection")),
        (graph, node, ns.RDF_TYPE, ns.iri_term(ns.NW + "Scale")),
        (graph, node, ns.iri_term(ns.SKOS + "memberList"), cells[0]),
    ]
    for position, (cell, member) in enumerate(zip(cells, members, strict=True)):
        rest = cells[position + 1] if position + 1 < len(cells) else _NIL
        quads += [
            (graph, node, ns.iri_term(ns.SKOS + "member"), member),
            (graph, cell, ns.iri_term(ns.RDF + "first"), member),
            (graph, cell, ns.iri_term(ns.RDF + "rest"), rest),
        ]
    return quads


def get_scale_subjects(scale: str, ranks: Sequence[int]) -> list[str]:
    """Return the nodes (N-Triples text) that `build_scale_quads` describes for these ranks."""
    cells = [ns.iri_term(ns.record_iri("scale-cell", scale, str(rank))) for rank in ranks]
    return [ns.iri_term(ns.record_iri("scale", scale)), *cells]
