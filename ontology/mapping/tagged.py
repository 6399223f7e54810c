"""Texts in other languages as quads and back: literals with a language, on the node of the record they speak of.

A tag stands in lower case: tags are compared without regard to case (RDF 1.1 Concepts, section 3.3).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cache

from ontology.model.columns import MANY, Column, Table
from ontology.model.keeping_records import Translation
from ontology.model.several import join_values
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, find_node, find_translated_column
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import get_language, get_plain_value, has_language, is_language_tag
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store

__all__ = [
    "build_tagged_quads",
    "get_property",
    "get_tagged_columns",
    "is_tagged",
    "read_tagged",
    "read_tagged_facts",
]


def get_property(predicate: str, term: str) -> tuple[str, str]:
    """Return the property a fact is of: its predicate and the language of its value, "" where that is plain."""
    return predicate, get_language(term) if has_language(term) else ""


@cache
def get_tagged_columns(table_name: str) -> Mapping[str, Column]:
    """Return predicate (N-Triples text) -> the column of a table that it says in several languages."""
    return {ns.iri_term(column.iri): column for column in TRANSLATED.get(table_name, ())}


def is_tagged(table: Table, predicate: str, term: str) -> bool:
    """Whether a fact of a record is a translation."""
    return has_language(term) and predicate in get_tagged_columns(table.name)


def build_tagged_quads(rows: Iterable[Translation]) -> list[Quad]:
    """Return the quads of translations; one that no node or language can carry has none. O(n)."""
    quads: list[Quad] = []
    for row in rows:
        node, column = find_node(row.table, row.id), find_translated_column(row.table, row.column)
        if node is not None and column is not None and is_language_tag(row.language):
            texts = (f"{ns.text_term(text)}@{row.language}" for text in row.texts)
            quads += [(*node, ns.iri_term(column.iri), text) for text in texts]
    return quads


def read_tagged(store: Store, subjects: Mapping[str, Collection[str]]) -> list[Translation]:
    """Read the translations of all records.

    `subjects` holds table name -> IRIs of its records.

    Notes
    -----
    One scan of each predicate that can have a language, O(n) for n literals of these.
    """
    known = {name: frozenset(subjects[name]) for name in TRANSLATED if subjects.get(name)}
    found: defaultdict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    for graph, predicate in sorted({(TABLES[name].graph, one.iri) for name in known for one in TRANSLATED[name]}):
        query = (
            f"SELECT ?s ?o (LANG(?o) AS ?l) WHERE {{ GRAPH <{graph}> {{ ?s <{predicate}> ?o }} "
            'FILTER(LANG(?o) != "") }'
        )
        for subject, text, language in store.select_rows(query):
            name = _get_tables().get(subject.removeprefix(ns.ID).partition("/")[0], "")
            if subject in known.get(name, ()):
                found[name, subject, ns.iri_term(predicate), language.lower()].append(text)
    return [row for group in found.items() if (row := _build(*group)) is not None]


def read_tagged_facts(table: Table, iri: str, facts: Iterable[tuple[str, str]]) -> Iterator[Translation]:
    """Yield the translations among the facts (predicate, term) of a record."""
    found: defaultdict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    for predicate, term in facts:
        if is_tagged(table, predicate, term):
            found[table.name, iri, predicate, get_language(term)].append(get_plain_value(term))
    yield from (row for group in found.items() if (row := _build(*group)) is not None)


def _build(where: tuple[str, str, str, str], texts: Sequence[str]) -> Translation | None:
    name, iri, predicate, language = where
    column = get_tagged_columns(name).get(predicate)
    if column is None:
        return None
    joined = join_values(sorted(texts)) if column.kind in MANY else min(texts)
    return Translation(name, "~".join(ns.key_from_iri(iri)), column.name, language, joined)


@cache
def _get_tables() -> dict[str, str]:
    """Return the first part of an IRI -> table."""
    return {TABLES[name].segment: name for name in TRANSLATED}
