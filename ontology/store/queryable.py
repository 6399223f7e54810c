"""A store that answers queries from outside: what is copied for them, and when the copies go."""

from __future__ import annotations

import tempfile
import weakref
from abc import abstractmethod
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pyoxigraph as ox

from ontology.rdf import namespaces as ns
from ontology.store.engine_questions import EngineQuestions
from ontology.store.folder import QUERIES, StoreFolder

if TYPE_CHECKING:  # brings what starts processes: most commands need none
    from ontology.store.query_pool import QueryPool

__all__ = ["ASKED_GRAPHS", "QueryableStore"]

#: What may be asked from outside: nothing about people, teams, what was and what is not published.
ASKED_GRAPHS: Final = (ns.GRAPH_VOCABULARY, ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)


class QueryableStore(EngineQuestions):
    """See `Store` for the rest of it."""

    lock: AbstractContextManager[bool]
    _folder: StoreFolder | None
    _queries: QueryPool | None

    @property
    @abstractmethod
    def revision(self) -> int:
        """The number of the last commit."""

    @property
    def queries(self) -> QueryPool:
        """What answers queries; made by the first of them."""
        from ontology.store.query_pool import QueryPool

        with self.lock:
            if self._queries is None:
                folder = self._folder
                home = folder.path / QUERIES if folder is not None else Path(tempfile.mkdtemp(prefix="newel-"))
                this = weakref.proxy(self)  # the copies go with the store, also where nobody closes it
                self._queries = QueryPool(lambda: this.revision, lambda to: this.copy_for_queries(to), home)
            return self._queries

    def end_queries(self) -> None:
        """End the processes that answer queries, and remove the copies they have open."""
        with self.lock:
            queries, self._queries = self._queries, None
        if queries is not None:
            queries.end()

    def copy_for_queries(self, to: Path) -> int:
        """Write what may be asked to a path that does not exist yet, and return its revision.

        The files of a store on disk are linked, its other graphs with them: each query names those it is asked of.
        """
        from ontology.rdf.vocabulary_terms import VOCABULARY_FOLDER  # brings an RDF library

        with self.lock:
            revision = self.revision
            if self._folder is not None:
                self._engine.backup(str(to))
            copy = ox.Store(str(to))
            if self._folder is None:
                for graph in ASKED_GRAPHS:
                    copy.bulk_extend(self._engine.quads_for_pattern(None, None, None, ox.NamedNode(graph)))
        for path in sorted(VOCABULARY_FOLDER.glob("*.ttl")):
            copy.load(path=str(path), format=ox.RdfFormat.TURTLE, to_graph=ox.NamedNode(ns.GRAPH_VOCABULARY))
        copy.flush()
        return revision
