"""What linked data say beside a retired record, so that others understand it too: deprecated, and replaced by what.

It follows from the record and the replacements: it is written out, never stored, and read back as nothing new.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from ontology.model.columns import Table
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MARKS", "iterate_marks", "iterate_marks_of"]

_DEPRECATED: Final = ns.iri_term(ns.OWL + "deprecated")
_REPLACED_BY: Final = ns.iri_term(ns.DCTERMS + "isReplacedBy")
#: The predicates (N-Triples text).
MARKS: Final = frozenset({_DEPRECATED, _REPLACED_BY})


def iterate_marks(snapshot: Snapshot) -> Iterator[Quad]:
    """Yield what is said beside all retired records of a state."""
    for name in RETIRABLE:
        yield from iterate_marks_of(snapshot, TABLES[name], snapshot.retired.get_table(name).values())


def iterate_marks_of(snapshot: Snapshot, table: Table, records: Iterable[Any]) -> Iterator[Quad]:
    """Yield what is said beside those of some records that are retired."""
    for record in records if table.name in RETIRABLE else ():
        if record.retired_on is None:
            continue
        node = ns.iri_term(table.get_iri(record))
        yield table.graph, node, _DEPRECATED, ns.typed_term("true", "boolean")
        for row in snapshot.get_replacements((table.name, record.id)):
            yield table.graph, node, _REPLACED_BY, ns.iri_term(ns.record_iri(table.segment, row.new))
