"""The one machine behind every other state: a Snapshot, and quads that come and go, give another Snapshot.

Touched records are written as quads, patched and read again. Nothing of the present is read from the store.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from ontology.mapping.reader import build_records, read_keys
from ontology.mapping.tagged import build_tagged_quads, read_tagged_facts
from ontology.mapping.writer import build_table_quads
from ontology.model.columns import MANY, Column, Key, Table
from ontology.model.keeping_records import Translation
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import NODE_TABLES
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import has_language
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_plain_value
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Facts", "Touched", "collect_facts", "find_touched", "patch_records", "patch_snapshot", "read_facts"]

#: (predicate, object) of one node, in N-Triples text, in an order that does not change.
Facts = dict[tuple[str, str], None]


@dataclass(frozen=True, slots=True)
class Touched:
    """The records of one table that a patch touches.

    Parameters
    ----------
    keys : IRI -> key
    records : IRI -> the record before, for those that were there
    translations : IRI -> its texts in other languages before
    """

    table: Table
    keys: Mapping[str, Key]
    records: Mapping[str, Any]
    translations: Mapping[str, Sequence[Translation]] = field(default_factory=dict)


def patch_snapshot(
    snapshot: Snapshot, added: Iterable[Quad], removed: Iterable[Quad], *, revision: int | None = None
) -> Snapshot:
    """Return the Snapshot after quads have come and gone; equal to compiling the store after them.

    Parameters
    ----------
    snapshot : Snapshot
        It stays as it is; tables that are not touched are shared.
    added, removed : quads, disjoint
        What no table holds (quads of others) changes nothing.
    revision : int, optional
        That of the Snapshot returned.

    Notes
    -----
    O(q + r) for q quads and r values of the touched records, then as `with_changes`.
    """
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Key]] = []
    for touched, facts in _patch_facts(snapshot, added, removed):
        name, after = touched.table.name, read_facts(touched.table, facts)
        put += [(name, record) for record in after.values()]
        remove += [(name, touched.keys[iri]) for iri in touched.records if iri not in after]
        said = [row for iri in after for row in read_tagged_facts(touched.table, iri, facts[iri])]
        gone = {TRANSLATIONS.get_key(row) for rows in touched.translations.values() for row in rows}
        put += [(TRANSLATIONS.name, row) for row in said]
        remove += [(TRANSLATIONS.name, key) for key in sorted(gone - {TRANSLATIONS.get_key(row) for row in said})]
    return snapshot.with_changes(put, remove, revision=revision)


def patch_records(
    snapshot: Snapshot, added: Iterable[Quad], removed: Iterable[Quad]
) -> Iterator[tuple[Touched, dict[str, Any]]]:
    """Yield, in the order of tables, the records a patch touches and IRI -> record after it of those that are there."""
    for touched, facts in _patch_facts(snapshot, added, removed):
        yield touched, read_facts(touched.table, facts)


def _patch_facts(
    snapshot: Snapshot, added: Iterable[Quad], removed: Iterable[Quad]
) -> Iterator[tuple[Touched, dict[str, Facts]]]:
    """Yield, in the order of tables, the records a patch touches and IRI -> what their nodes say after it."""
    gone, come = _group(removed), _group(added)
    for touched in find_touched(snapshot, [*gone, *come]):
        facts = collect_facts(touched)
        graph = touched.table.graph
        for iri, own in facts.items():
            node = (graph, ns.iri_term(iri))
            for fact in gone.get(node, ()):
                own.pop(fact, None)
            own.update(dict.fromkeys(come.get(node, ())))
        yield touched, facts


def find_touched(snapshot: Snapshot, nodes: Iterable[tuple[str, str]]) -> list[Touched]:
    """Return the records that nodes (graph, subject) are, table by table; nodes that are no record are left out."""
    found: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for graph, subject in nodes:
        segment, _, key = subject[1:-1].removeprefix(ns.ID).partition("/")
        name = _get_tables().get((graph, segment))
        if name is not None and subject.startswith(f"<{ns.ID}") and key.count("~") == len(NODE_TABLES[name].key) - 1:
            found[name][subject[1:-1]] = None
    touched = []
    for name, table in NODE_TABLES.items():
        if name in found:
            keys = {iri: key for iri, key in read_keys(table, list(found[name])).items() if key is not None}
            present = snapshot.get_all(name)
            records = {iri: present[key] for iri, key in keys.items() if key in present}
            texts = {}
            if name in TRANSLATED and snapshot.get_table(TRANSLATIONS.name):
                about = ((iri, snapshot.get_translations((name, get_key_text(key)))) for iri, key in keys.items())
                texts = {iri: rows for iri, rows in about if rows}
            touched.append(Touched(table, keys, records, texts))
    return touched


def read_facts(table: Table, facts: Mapping[str, Facts]) -> dict[str, Any]:
    """Return IRI -> record of the nodes that are records of a table."""
    is_one = (ns.RDF_TYPE, ns.iri_term(table.class_iri))
    iris = [iri for iri, own in facts.items() if is_one in own]
    columns = _get_columns(table.name)
    indexes: dict[tuple[str, str], dict[str, Any]] = {(table.graph, column.iri): {} for column in columns.values()}
    for iri in iris:
        for predicate, term in facts[iri]:
            column = columns.get(predicate)
            if column is None or has_language(term):
                continue
            index = indexes[table.graph, column.iri]
            if column.kind in MANY:
                index.setdefault(iri, []).append(get_plain_value(term))
            else:
                index[iri] = get_plain_value(term)
    return dict(zip(iris, build_records(table, iris, indexes), strict=True))


def collect_facts(touched: Touched) -> dict[str, Facts]:
    """Return IRI -> what the records say before the patch, nothing for those that were not there."""
    facts: dict[str, Facts] = {iri: {} for iri in touched.keys}
    for _, subject, predicate, term in build_table_quads(touched.table, list(touched.records.values())):
        facts[subject[1:-1]][predicate, term] = None
    for rows in touched.translations.values():
        for _, subject, predicate, term in build_tagged_quads(rows):
            facts[subject[1:-1]][predicate, term] = None
    return facts


def _group(quads: Iterable[Quad]) -> dict[tuple[str, str], list[tuple[str, str]]]:
    groups: defaultdict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for graph, subject, predicate, term in quads:
        groups[graph, subject].append((predicate, term))
    return groups


@cache
def _get_tables() -> dict[tuple[str, str], str]:
    """Return (graph, first part of an IRI) -> table."""
    return {(table.graph, table.segment): name for name, table in NODE_TABLES.items()}


@cache
def _get_columns(table_name: str) -> dict[str, Column]:
    """Return predicate -> the column it fills."""
    table = NODE_TABLES[table_name]
    return {ns.iri_term(column.iri): column for column in table.columns if column.attribute not in table.key}
