"""What a change really adds and removes, told piece by piece while the change is still being made.

What is there already is not added again, what is absent is not removed: otherwise a patch could not be undone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from ontology.rdf.namespaces import Quad


@dataclass(frozen=True, slots=True)
class Piece:
    """All that one change says of some nodes: no other piece of it says anything of them in the same graph.

    Parameters
    ----------
    added : quads that are said from now on, in any order, some perhaps twice
    touched : (graph, subject) of nodes that may lose quads, beside the subjects of `added`
    goes : callable
        Whether a quad that is there goes, unless it is among `added`.
    """

    added: Sequence[Quad]
    touched: Iterable[tuple[str, str]]
    goes: Callable[[Quad], bool]


def make_piece(added: Iterable[Quad], removed: Iterable[Quad]) -> Piece:
    """Return a change as one piece; `removed` is gone through after the last of `added`."""
    said, doomed = list(added), frozenset(removed)
    return Piece(said, [(quad[0], quad[1]) for quad in doomed], doomed.__contains__)


class QuadReader(Protocol):
    """What is asked of a store."""

    def read_graph(self, graph: str) -> Iterator[Quad]: ...

    def read_subjects(self, graph: str, subjects: Iterable[str]) -> Iterator[Quad]: ...

    def is_empty(self, graph: str) -> bool: ...


class NetQuads:
    """The net quads of one change.

    Parameters
    ----------
    reader : the store before the change
    pieces : gone through once
    limit : int
        Pieces of more nodes than this read the graphs they touch as a whole, smaller ones these nodes only.

    Attributes
    ----------
    n_added : int
        How many quads are new so far.
    removed : list of Quad
        What goes so far, of each piece in order, as the same change is to leave the same bytes whatever order a store
        reads in; complete after the last of `iterate_added`.
    """

    def __init__(self, reader: QuadReader, pieces: Iterable[Piece], limit: int) -> None:
        self._reader = reader
        self._pieces = pieces
        self._limit = limit
        self._empty: dict[str, bool] = {}
        self.n_added = 0
        self.removed: list[Quad] = []

    def iterate_added(self) -> Iterator[list[Quad]]:
        """Yield what is new, piece by piece, none empty. Memory: O(piece + what the store says of it + removed)."""
        for piece in self._pieces:
            new = dict.fromkeys(piece.added)
            present = set(self._read_present(piece))
            self.removed += sorted(quad for quad in present if quad not in new and piece.goes(quad))
            added = [quad for quad in new if quad not in present] if present else list(new)
            self.n_added += len(added)
            if added:
                yield added

    def take_more_than(self, n: int) -> tuple[list[Quad], Iterator[list[Quad]]]:
        """Return the first pieces, until they hold more than `n` quads, as one, and the pieces that are left."""
        pieces = self.iterate_added()
        taken: list[Quad] = []
        for piece in pieces:
            taken += piece
            if len(taken) > n:
                break
        return taken, pieces

    def _read_present(self, piece: Piece) -> Iterator[Quad]:
        subjects: defaultdict[str, dict[str, None]] = defaultdict(dict)
        for graph, subject, *_ in (*piece.added, *piece.touched):
            subjects[graph][subject] = None
        for graph, touched in subjects.items():
            if graph not in self._empty:
                self._empty[graph] = self._reader.is_empty(graph)
            if self._empty[graph]:
                continue
            if len(touched) > self._limit:
                yield from self._reader.read_graph(graph)
            else:
                yield from self._reader.read_subjects(graph, touched)
