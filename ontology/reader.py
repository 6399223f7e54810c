"""From the store back to records: one query a predicate, joined in memory. Imports store, tables, namespaces."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any

from ontology import namespaces as ns
from ontology.columns import Column, Table
from ontology.store import Store
from ontology.tables import TABLES, get_reference_segment


def _to_flag(text: str) -> bool:
    return text in ("true", "1")


def get_decoder(column: Column) -> Callable[[str], Any]:
    """Return the function that turns a plain value of the store into a value of this column."""
    if column.refers_to:
        prefix = f"{ns.ID}{get_reference_segment(column.refers_to)}/"
        length = len(prefix)
        return lambda iri: iri[length:] if iri.startswith(prefix) else iri
    decoders: dict[str, Callable[[str], Any]] = {
        "text": str,
        "texts": str,
        "choice": str,
        "iris": str,
        "integer": int,
        "number": float,
        "flag": _to_flag,
        "date": date.fromisoformat,
    }
    return decoders[column.kind]


def read_records(store: Store) -> dict[str, list[Any]]:
    """Read every record of every table.

    O(t) queries for t columns, each a scan of one predicate; O(n) time and memory for n triples. Read it
    under the writer lock, or compare the revision before and after: a store has no snapshot over queries.
    """
    return {name: read_table(store, table) for name, table in TABLES.items()}


def read_table(store: Store, table: Table) -> list[Any]:
    """Read every record of one table, in no particular order."""
    subjects = [row[0] for row in store.select(_make_class_query(table))]
    columns = {
        column.name: store.select(_make_column_query(table, column)) for column in table.columns if column.kind != "id"
    }
    return build_records(table, subjects, columns)


def build_records(table: Table, subjects: Iterable[str], columns: Mapping[str, Iterable[tuple[str, ...]]]) -> list[Any]:
    """Return records from subjects (IRIs) and, per column name, pairs of subject and plain value.

    Parameters
    ----------
    table : Table
    subjects : (n,) IRIs of the records
    columns : column name -> (subject, value) pairs; pairs of other subjects are passed over
    """
    indexes: list[tuple[Column, dict[str, Any]]] = []
    for column in table.columns:
        decode = get_decoder(column) if column.kind != "id" else ns.id_from_iri
        if column.kind == "id":
            index: dict[str, Any] = {}
        elif column.kind in ("refs", "texts", "iris"):
            groups: defaultdict[str, list[Any]] = defaultdict(list)
            for subject, value in columns[column.name]:
                groups[subject].append(decode(value))
            index = {subject: tuple(sorted(group)) for subject, group in groups.items()}
        else:
            index = {subject: decode(value) for subject, value in columns[column.name]}
        indexes.append((column, index))
    make = table.record
    records = []
    for subject in subjects:
        values: dict[str, Any] = {}
        for column, index in indexes:
            if column.kind == "id":
                values[column.attribute] = ns.id_from_iri(subject)
            elif subject in index:
                values[column.attribute] = index[subject]
            elif column.is_required:
                values[column.attribute] = ""
            else:
                values[column.attribute] = column.get_default(values)
        records.append(make(**values))
    return records


def _make_class_query(table: Table) -> str:
    return f"SELECT ?s WHERE {{ GRAPH <{table.graph}> {{ ?s {ns.RDF_TYPE} <{table.class_iri}> }} }}"


def _make_column_query(table: Table, column: Column) -> str:
    return (
        f"SELECT ?s ?o WHERE {{ GRAPH <{table.graph}> {{ "
        f"?s {ns.RDF_TYPE} <{table.class_iri}> . ?s <{column.iri}> ?o }} }}"
    )
