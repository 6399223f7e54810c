"""What a change of translations says of the nodes they stand on, and which records are said anew with them.

A node is checked as a whole: the record of a text that comes or goes is said again beside it, which changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ontology.mapping.tagged import build_tagged_quads
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import TABLES
from ontology.model.translated import find_node, find_translated_column, parse_key_text
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Tagged"]

#: Predicate (N-Triples text) and language.
Property = tuple[str, str]
_NAME = TRANSLATIONS.name


@dataclass(frozen=True, slots=True)
class Tagged:
    """Texts in languages that come, and the properties they or those that go are of, by graph and subject.

    `records` are (table, id) of what they speak of.
    """

    texts: Mapping[tuple[str, str], Sequence[Quad]]
    properties: Mapping[tuple[str, str], frozenset[Property]]
    records: Sequence[tuple[str, str]]

    def __bool__(self) -> bool:
        return bool(self.records)

    @classmethod
    def collect(cls, put: Iterable[tuple[str, Any]], remove: Iterable[tuple[str, Key]]) -> Tagged:
        """Return those of a change. O(n) for n records."""
        rows = [record for name, record in put if name == _NAME]
        keys = [TRANSLATIONS.get_key(row) for row in rows] + [key for name, key in remove if name == _NAME]
        texts: defaultdict[tuple[str, str], list[Quad]] = defaultdict(list)
        properties: defaultdict[tuple[str, str], set[Property]] = defaultdict(set)
        for quad in build_tagged_quads(rows):
            texts[quad[:2]].append(quad)
        for table, record_id, column_name, language in keys:
            node, column = find_node(table, record_id), find_translated_column(table, column_name)
            if node is not None and column is not None:
                properties[node].add((ns.iri_term(column.iri), language))
        records = list(dict.fromkeys((key[0], key[1]) for key in keys))
        return cls(texts, {node: frozenset(found) for node, found in properties.items()}, records)

    def get(self, graph: str, subject: str) -> tuple[Sequence[Quad], frozenset[Property]]:
        """Return the texts that a node is given, and the properties that are said anew."""
        return self.texts.get((graph, subject), ()), self.properties.get((graph, subject), frozenset())

    def bring_records(
        self, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]], after: Snapshot
    ) -> list[tuple[str, Any]]:
        """Return the records to put, without translations and with the records these speak of that stay as they are."""
        own = [pair for pair in put if pair[0] != _NAME]
        said = {(name, TABLES[name].get_key(record)) for name, record in own} | set(remove)
        for table, record_id in sorted(self.records, key=lambda one: list(TABLES).index(one[0])):
            key = parse_key_text(table, record_id) if find_node(table, record_id) else None
            record = None if key is None or (table, key) in said else after.get_all(table).get(key)
            if record is not None:
                own.append((table, record))
        return own
