"""What a change says of the nodes it touches, piece by piece: new quads, and which of the old ones go.

A replaced record loses what its columns said, its texts in other languages stay: a property is a predicate and a tag.

Quads are made on the way and can be made again, so that those of a large change never stand in memory together: its
first ones are written and checked while its last records are still to be put into words.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import groupby
from operator import itemgetter
from typing import Any, Final

from ontology.mapping.tagged import get_property
from ontology.mapping.tagged_changes import Tagged
from ontology.mapping.writer import build_scale_quads, build_table_quads, get_predicates, get_scale_subjects
from ontology.model.columns import Key, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.net_quads import Piece

_RECORDS_PER_PIECE: Final = 4_000
#: The tables that others refer to: the checks ask what a reference leads to.
_REFERRED: Final = frozenset(column.refers_to for table in TABLES.values() for column in table.columns)


#: Predicate (N-Triples text) and language, "" of what is plain.
Property = tuple[str, str]
#: Graph -> subject -> properties.
Replaced = Mapping[str, Mapping[str, frozenset[Property] | None]]


@dataclass(slots=True)
class _Part:
    """Quads that are said, and per graph and subject the properties that are said anew by them, None for all."""

    added: list[Quad] = field(default_factory=list)
    replaced: defaultdict[str, dict[str, frozenset[Property] | None]] = field(default_factory=lambda: defaultdict(dict))
    doomed: frozenset[Quad] = frozenset()

    def goes(self, quad: Quad) -> bool:
        """Whether a quad of the store is not said any more."""
        if quad in self.doomed:
            return True
        subjects = self.replaced.get(quad[0], {})
        if quad[1] not in subjects:
            return False
        properties = subjects[quad[1]]
        return properties is None or get_property(quad[2], quad[3]) in properties

    def take(self, other: _Part) -> None:
        """Take in another part; where this one replaces all of a subject, the other says what."""
        self.added += other.added
        self.replace(other.replaced)

    def replace(self, replaced: Replaced) -> None:
        """Replace what is said of some subjects, too."""
        for graph, subjects in replaced.items():
            own = self.replaced[graph]
            for subject, properties in subjects.items():
                before = own.get(subject)
                own[subject] = properties if before is None or properties is None else before | properties

    def make_piece(self) -> Piece:
        touched = [(graph, subject) for graph, subjects in self.replaced.items() for subject in subjects]
        return Piece(self.added, [*touched, *((quad[0], quad[1]) for quad in self.doomed)], self.goes)


class Difference:
    """The pieces of one change; going through it gives the quads that are added, in blocks, as often as is asked.

    `put` and `remove` hold (table name, record) and (table name, key); `extra` and `doomed` are quads of others that
    are added and that go.
    """

    def __init__(
        self,
        present: Snapshot,
        after: Snapshot,
        put: Sequence[tuple[str, Any]],
        remove: Sequence[tuple[str, Key]],
        extra: Sequence[Quad] = (),
        doomed: frozenset[Quad] = frozenset(),
    ) -> None:
        self._present = present
        self._after = after
        self._tagged = Tagged.collect(put, remove)
        if self._tagged:
            put = self._tagged.bring_records(put, remove, after)
            remove = [pair for pair in remove if pair[0] != TRANSLATIONS.name]
        self._put = put
        self._remove = remove
        self._extra = extra
        self._doomed = doomed

    def __iter__(self) -> Iterator[Sequence[Quad]]:
        """Yield the quads that the new and replaced records say, and the extra ones, all of a node in one block."""
        for part in self._iterate_parts():
            yield part.added

    def iterate_pieces(self) -> Iterator[Piece]:
        """Yield the pieces of the change. O(n) for n quads, O(records of a piece) in memory."""
        for part in self._iterate_parts():
            yield part.make_piece()

    def iterate_kept(self, quads: Iterable[Quad]) -> Iterator[Quad]:
        """Yield those of the store's quads that are still said after the change. O(nodes of the change + quads)."""
        whole = _Part(doomed=self._doomed)
        for part in self._iterate_own_parts():
            whole.replace(part.replaced)
        yield from (quad for quad in quads if not whole.goes(quad))

    def iterate_types(self) -> Iterator[Quad]:
        """Yield the types that are said of what records can refer to, and all types among the extra quads."""
        for name, record in self._put:
            if name in _REFERRED:
                table = TABLES[name]
                yield (table.graph, ns.iri_term(table.get_iri(record)), ns.RDF_TYPE, ns.iri_term(table.class_iri))
        for scale in self._scales:
            yield from (quad for quad in self._build_scale(scale).added if quad[2] == ns.RDF_TYPE)
        yield from (quad for quad in self._extra if quad[2] == ns.RDF_TYPE)

    def _iterate_parts(self) -> Iterator[_Part]:
        parts = self._iterate_own_parts()
        if not self._is_divisible:
            whole = _Part()
            for part in parts:
                whole.take(part)
            whole.added += self._extra
            whole.doomed = self._doomed
            yield whole
            return
        # what others say of a node stands in the piece of that node
        of_others: defaultdict[str, list[Quad]] = defaultdict(list)
        for quad in self._extra:
            of_others[quad[1]].append(quad)
        for part in parts:
            if of_others:
                subjects = dict.fromkeys(quad[1] for quad in part.added)
                part.added += [quad for subject in subjects for quad in of_others.pop(subject, ())]
            yield part
        if of_others:
            yield _Part([quad for quads in of_others.values() for quad in quads])

    @cached_property
    def _is_divisible(self) -> bool:
        """Whether the change is large, and no node is said twice in it."""
        if self._remove or self._doomed or len(self._put) <= _RECORDS_PER_PIECE:
            return False
        keyed: defaultdict[str, list[Any]] = defaultdict(list)
        for name, record in self._put:
            keyed[name].append(record)
        return all(len(dict(TABLES[name].iterate_keyed(records))) == len(records) for name, records in keyed.items())

    @cached_property
    def _scales(self) -> list[str]:
        """The scales whose order of levels is written anew."""
        scales = {record.scale for name, record in self._put if name == "scales"}
        return sorted(scales | {key[0] for name, key in self._remove if name == "scales"})

    def _iterate_own_parts(self) -> Iterator[_Part]:
        gone = _Part()
        for name, key in self._remove:
            table = TABLES[name]
            gone.replaced[table.graph][ns.iri_term(ns.record_iri(table.segment, *map(str, key)))] = None
        yield gone
        for name, group in groupby(self._put, key=itemgetter(0)):
            records = [record for _, record in group]
            for start in range(0, len(records), _RECORDS_PER_PIECE):
                yield self._build_part(name, records[start : start + _RECORDS_PER_PIECE])
        for scale in self._scales:
            yield self._build_scale(scale)

    def _build_scale(self, scale: str) -> _Part:
        levels = self._after.scales.get(scale, ())
        ranks = {level.rank for level in (*levels, *self._present.scales.get(scale, ()))}
        part = _Part(build_scale_quads(scale, levels))
        part.replaced[ns.GRAPH_FRAMEWORK] = dict.fromkeys(get_scale_subjects(scale, sorted(ranks)))
        return part

    def _build_part(self, table_name: str, records: Sequence[Any]) -> _Part:
        table = TABLES[table_name]
        part = _Part(build_table_quads(table, records))
        # the first quads say what each record is
        subjects = [quad[1] for quad in part.added[: len(records)]]
        part.replaced[table.graph].update(dict.fromkeys(subjects, _list_properties(table)))
        if self._tagged and table_name in TRANSLATED:
            for subject in dict.fromkeys(subjects):
                texts, properties = self._tagged.get(table.graph, subject)
                part.added += texts
                part.replace({table.graph: {subject: properties}})
        return part


@cache
def _list_properties(table: Table) -> frozenset[Property]:
    return frozenset((predicate, "") for predicate in get_predicates(table))
