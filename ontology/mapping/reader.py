"""From the store back to records: one query a predicate and graph, joined in memory.

A record's node has a deterministic IRI made of its key, so the key columns are read from the IRI and need no query.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from itertools import chain
from typing import Any
from urllib.parse import unquote

from ontology.mapping.tagged import read_tagged
from ontology.model.columns import MANY, Column, Key, Table
from ontology.model.tables import NODE_TABLES, get_reference_segment
from ontology.rdf import namespaces as ns
from ontology.store.engine import Store

#: Predicate -> subject -> plain value, or plain values where the column holds several.
Indexes = Mapping[tuple[str, str], Mapping[str, Any]]


def read_records(store: Store) -> dict[str, list[Any]]:
    """Read every record of every table, in no particular order.

    Notes
    -----
    One query per class, and one per graph and predicate of a class that has records: each a scan of one predicate,
    which is the fastest form of the engine. O(n) time and memory for n triples. Read it under the writer lock, or
    compare the revision before and after: a store has no snapshot over several queries.
    """
    subjects = {name: _read_subjects(store, table) for name, table in NODE_TABLES.items()}
    indexes: dict[tuple[str, str], Mapping[str, Any]] = {}
    for table in (table for name, table in NODE_TABLES.items() if subjects[name]):
        for column in _get_stored_columns(table):
            where = (table.graph, column.iri)
            if where not in indexes:
                indexes[where] = _read_index(store, table.graph, column)
    records = {name: build_records(table, subjects[name], indexes) for name, table in NODE_TABLES.items()}
    return {**records, "translations": read_tagged(store, subjects)}


def build_records(table: Table, subjects: Sequence[str], indexes: Indexes) -> list[Any]:
    """Return the records of a table from its subjects and the values of their predicates.

    `indexes` holds (graph, predicate IRI) -> subject -> plain value, or list of plain values.
    """
    if not subjects:
        return []
    keys = dict(zip(table.key, zip(*_split_keys(subjects), strict=True), strict=True))
    done: dict[str, list[Any]] = {}
    row = _Row(done)
    for column in table.columns:
        if column.attribute in keys:
            done[column.attribute] = _decode_all(column, keys[column.attribute], is_plain_id=True)
            continue
        index = indexes[table.graph, column.iri]
        values = _decode_all(column, list(map(index.get, subjects)))
        if not column.is_required:
            _fill_defaults(column, values, row)
        done[column.attribute] = values
    return list(map(table.record, *done.values()))


def read_keys(table: Table, subjects: Sequence[str]) -> dict[str, Key | None]:
    """Return IRI -> key of the record it would be; None where its parts are no values of the key's columns.

    Each IRI has as many parts as the key.
    """
    columns = [next(column for column in table.columns if column.attribute == name) for name in table.key]
    decoders = [_get_decoder(column, is_plain_id=True) for column in columns]
    keys: dict[str, Key | None] = {}
    for subject, parts in zip(subjects, _split_keys(subjects), strict=True):
        try:
            keys[subject] = tuple(decode(part) for decode, part in zip(decoders, parts, strict=True))
        except ValueError:
            keys[subject] = None
    return keys


def _split_keys(subjects: Sequence[str]) -> list[list[str]]:
    """Return the parts of the keys of records, as `namespaces.key_from_iri` does for one."""
    parts = [subject.rsplit("/", 1)[1].split("~") for subject in subjects]
    if any("%" in subject for subject in subjects):
        return [list(map(unquote, key)) for key in parts]
    return parts


class _Row(Mapping[str, Any]):
    """The values of one row of the columns done so far, for defaults that hang on other columns."""

    def __init__(self, columns: Mapping[str, Sequence[Any]]) -> None:
        self._columns = columns
        self.position = 0

    def __getitem__(self, name: str) -> Any:
        return self._columns[name][self.position]

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __len__(self) -> int:
        return len(self._columns)


def _fill_defaults(column: Column, values: list[Any], row: _Row) -> None:
    if callable(column.default):
        for position, value in enumerate(values):
            if value is None:
                row.position = position
                values[position] = column.default(row)
    elif column.default is not None and None in values:
        default = column.default
        values[:] = [default if value is None else value for value in values]


def _decode_all(column: Column, values: Sequence[Any], *, is_plain_id: bool = False) -> list[Any]:
    decode = _get_decoder(column, is_plain_id=is_plain_id)
    if column.kind in MANY:
        return [None if value is None else tuple(sorted(map(decode, value))) for value in values]
    if decode is str:
        return list(values)
    # levels, dates and references repeat: each text is decoded once
    known = {value: decode(value) for value in set(values) if value is not None}
    return list(map(known.get, values))


def _get_decoder(column: Column, *, is_plain_id: bool) -> Callable[[str], Any]:
    if column.refers_to and not is_plain_id:
        length = len(f"{ns.ID}{get_reference_segment(column.refers_to)}/")
        return lambda iri: iri[length:]
    decoders: dict[str, Callable[[str], Any]] = {
        "integer": int,
        "number": float,
        "flag": lambda text: text in ("true", "1"),
        "date": date.fromisoformat,
    }
    return decoders.get(column.kind, str)


def _get_stored_columns(table: Table) -> Iterator[Column]:
    return (column for column in table.columns if column.attribute not in table.key)


def _read_subjects(store: Store, table: Table) -> list[str]:
    rows = store.select_rows(f"SELECT ?s WHERE {{ GRAPH <{table.graph}> {{ ?s {ns.RDF_TYPE} <{table.class_iri}> }} }}")
    return list(chain.from_iterable(rows))


def _read_index(store: Store, graph: str, column: Column) -> Mapping[str, Any]:
    # a text in a language says another record: a translation
    plain = 'FILTER(LANG(?o) = "")' if column.kind in ("text", "texts") else ""
    rows = store.select_rows(f"SELECT ?s ?o WHERE {{ GRAPH <{graph}> {{ ?s <{column.iri}> ?o }} {plain} }}")
    if column.kind not in MANY:
        return dict(rows)  # every row has two values
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for subject, value in rows:
        groups[subject].append(value)
    return groups
