"""What must be added to the store and removed from it, so that it says what a Snapshot holds. Imports store, writer.

Quads are made on the way: a large commit is being written while its last records are still to be put into words.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice
from operator import itemgetter
from typing import Any, Final

from ontology.mapping.writer import build_scale_quads, build_table_quads, get_predicates, get_scale_subjects
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import TEXT_LIMIT, Store

_RECORDS_PER_BLOCK: Final = 4_000


class Difference:
    """The quads of one change: first what is added, then what is removed.

    Parameters
    ----------
    store : the store before the change
    present, after : Snapshot before and after it
    put, remove : (table name, record) that are made or replaced, (table name, key) that go
    extra : quads of others that are added

    Attributes
    ----------
    added : list of Quad
        What `iterate_added` has handed out so far.
    """

    def __init__(
        self,
        store: Store,
        present: Snapshot,
        after: Snapshot,
        put: Sequence[tuple[str, Any]],
        remove: Sequence[tuple[str, Key]],
        extra: Sequence[Quad] = (),
    ) -> None:
        self.added: list[Quad] = []
        self._store = store
        self._present = present
        self._after = after
        self._put = put
        self._remove = remove
        self._extra = extra
        #: Graph -> subject -> the predicates that are replaced, None for all.
        self._replaced: defaultdict[str, dict[str, frozenset[str] | None]] = defaultdict(dict)

    def iterate_added(self) -> Iterator[Quad]:
        """Yield the quads that the new and replaced records say. O(n) for n of them."""
        for block in self._iterate_blocks():
            self.added += block
            yield from block

    def iterate_removed(self) -> Iterator[Quad]:
        """Yield what replaced and removed records said and do not say any more; after the last of `iterate_added`."""
        doomed = [
            quad
            for graph, subjects in self._replaced.items()
            for quad in self._read_present(graph, subjects)
            if _is_replaced(quad, subjects)
        ]
        if doomed:
            said = set(self.added)
            yield from (quad for quad in doomed if quad not in said)

    def _iterate_blocks(self) -> Iterator[list[Quad]]:
        scales: set[str] = set()
        for name, key in self._remove:
            table = TABLES[name]
            self._replaced[table.graph][ns.iri_term(ns.record_iri(table.segment, *map(str, key)))] = None
            if name == "scales":
                scales.add(key[0])
        for name, group in groupby(self._put, key=itemgetter(0)):
            table = TABLES[name]
            while records := [record for _, record in islice(group, _RECORDS_PER_BLOCK)]:
                quads = build_table_quads(table, records)
                # the first quads say what each record is
                subjects = (quad[1] for quad in quads[: len(records)])
                self._replaced[table.graph].update(dict.fromkeys(subjects, get_predicates(table)))
                if name == "scales":
                    scales.update(record.scale for record in records)
                yield quads
        for scale in sorted(scales):
            levels = self._after.scales.get(scale, ())
            ranks = {level.rank for level in (*levels, *self._present.scales.get(scale, ()))}
            for subject in get_scale_subjects(scale, sorted(ranks)):
                self._replaced[ns.GRAPH_FRAMEWORK][subject] = None
            yield build_scale_quads(scale, levels)
        yield list(self._extra)

    def _read_present(self, graph: str, subjects: Mapping[str, Any]) -> Iterable[Quad]:
        if len(subjects) > TEXT_LIMIT:
            return self._store.read_graph(graph)
        return self._store.read_subjects(graph, subjects)


def _is_replaced(quad: Quad, subjects: Mapping[str, frozenset[str] | None]) -> bool:
    if quad[1] not in subjects:
        return False
    predicates = subjects[quad[1]]
    return predicates is None or quad[2] in predicates
