"""What a change really adds and removes, told block by block while the change is still being made. Imports namespaces.

What is there already is not added again, what is absent is not removed: otherwise a patch could not be undone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import islice
from typing import Protocol

from ontology.rdf.namespaces import Quad

#: Quads handed on at a time.
QUADS_PER_BLOCK = 4_000


class QuadReader(Protocol):
    """What is asked of a store."""

    def read_graph(self, graph: str) -> Iterator[Quad]: ...

    def read_subjects(self, graph: str, subjects: Iterable[str]) -> Iterator[Quad]: ...


class NetQuads:
    """The net quads of one change.

    Parameters
    ----------
    reader : the store before the change
    added, removed : quads, each gone through once; `removed` only when the last of `added` has been taken
    limit : int
        Changes of more quads than this read the graphs they touch as a whole, smaller ones their subjects only.
    """

    def __init__(self, reader: QuadReader, added: Iterable[Quad], removed: Iterable[Quad], limit: int) -> None:
        self._reader = reader
        self._added = iter(added)
        self._removed = removed
        self._limit = limit
        self._asked: set[Quad] = set()
        self._present: set[Quad] = set()
        self._read_whole: set[str] = set()
        self.n_added = 0

    def iterate_added(self) -> Iterator[list[Quad]]:
        """Yield what is new in blocks that are not empty. Memory: O(quads asked for + quads of touched graphs)."""
        head = list(islice(self._added, self._limit + 1))
        if len(head) <= self._limit:
            self._removed = list(self._removed)
            self._read_touched((*head, *self._removed))
            yield from self._keep_new(head)
            return
        block = head
        while block:
            for graph in {quad[0] for quad in block} - self._read_whole:
                self._present.update(self._reader.read_graph(graph))
                self._read_whole.add(graph)
            yield from self._keep_new(block)
            block = list(islice(self._added, QUADS_PER_BLOCK))

    def take_more_than(self, n: int) -> tuple[list[Quad], Iterator[list[Quad]]]:
        """Return the first blocks, until they hold more than `n` quads, as one, and the blocks that are left."""
        blocks = self.iterate_added()
        taken: list[Quad] = []
        for block in blocks:
            taken += block
            if len(taken) > n:
                break
        return taken, blocks

    @cached_property
    def removed(self) -> list[Quad]:
        """What goes; asked for after the last block."""
        doomed = list(dict.fromkeys(self._removed))
        self._read_touched(doomed)
        return [quad for quad in doomed if quad in self._present and quad not in self._asked]

    def _keep_new(self, block: list[Quad]) -> Iterator[list[Quad]]:
        new = list(dict.fromkeys(block))
        if self._present or not self._asked.isdisjoint(new):
            new = [quad for quad in new if quad not in self._present and quad not in self._asked]
        self._asked.update(block)
        self.n_added += len(new)
        if new:
            yield new

    def _read_touched(self, quads: Iterable[Quad]) -> None:
        subjects: defaultdict[str, list[str]] = defaultdict(list)
        for quad in quads:
            if quad[0] not in self._read_whole:
                subjects[quad[0]].append(quad[1])
        for graph, touched in subjects.items():
            if len(touched) > self._limit:
                self._present.update(self._reader.read_graph(graph))
                self._read_whole.add(graph)
            else:
                self._present.update(self._reader.read_subjects(graph, touched))
