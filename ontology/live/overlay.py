"""A store as it would be with some quads more and some less: what the checks read of it, without changing anything."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from ontology.rdf.namespaces import Quad
from ontology.store.questions import StoreQuestions

__all__ = ["Overlay"]


class Overlay:
    """A store under a patch.

    Parameters
    ----------
    added, removed : quads
        Those added are absent from the store, those removed are part of it.
    """

    def __init__(self, store: StoreQuestions, added: Iterable[Quad], removed: Iterable[Quad]) -> None:
        self._store = store
        self._added: defaultdict[str, defaultdict[str, list[Quad]]] = defaultdict(lambda: defaultdict(list))
        for quad in added:
            self._added[quad[0]][quad[1]].append(quad)
        self._removed = frozenset(removed)

    def read_graph(self, graph: str) -> Iterator[Quad]:
        """Yield every quad of one named graph."""
        yield from (quad for quad in self._store.read_graph(graph) if quad not in self._removed)
        for quads in self._get_added(graph).values():
            yield from quads

    def read_subjects(self, graph: str, subjects: Iterable[str]) -> Iterator[Quad]:
        """Yield every quad of one named graph about the given subjects (N-Triples text)."""
        wanted = list(dict.fromkeys(subjects))
        yield from (quad for quad in self._store.read_subjects(graph, wanted) if quad not in self._removed)
        added = self._get_added(graph)
        for subject in wanted:
            yield from added.get(subject, ())

    def has_property(self, graph: str, predicates: Iterable[str]) -> bool:
        """Whether one named graph says anything by one of some properties (N-Triples text)."""
        wanted = frozenset(predicates)
        if any(quad[2] in wanted for quads in self._get_added(graph).values() for quad in quads):
            return True
        if any(quad[0] == graph and quad[2] in wanted for quad in self._removed):
            return any(quad[2] in wanted for quad in self.read_graph(graph))
        return self._store.has_property(graph, sorted(wanted))

    def is_empty(self, graph: str) -> bool:
        """Whether one named graph holds nothing."""
        return next(self.read_graph(graph), None) is None

    def _get_added(self, graph: str) -> dict[str, list[Quad]]:
        return self._added.get(graph, defaultdict(list))
