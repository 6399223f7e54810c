"""What can be asked of any store that answers SELECT queries: whole graphs, some subjects, counts.

Portable SPARQL 1.1 text only, so it holds for a remote endpoint as well.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from typing import Final

from ontology.rdf.namespaces import Quad

_SUBJECTS_PER_QUERY: Final = 500


class StoreQuestions(ABC):
    """The questions that rest on two: rows of a SELECT as text, or as terms."""

    @abstractmethod
    def select(self, query: str) -> list[tuple[str, ...]]:
        """Return the rows of a SELECT: IRIs without brackets, lexical forms, the empty string where unbound."""

    @abstractmethod
    def select_terms(self, query: str) -> Iterator[tuple[str, ...]]:
        """Yield the rows of a SELECT as N-Triples terms, so that datatypes and languages are kept."""

    def read_graph(self, graph: str) -> Iterator[Quad]:
        """Yield every quad of one named graph."""
        for s, p, o in self.select_terms(f"SELECT ?s ?p ?o WHERE {{ GRAPH <{graph}> {{ ?s ?p ?o }} }}"):
            yield (graph, s, p, o)

    def read_subjects(self, graph: str, subjects: Iterable[str]) -> Iterator[Quad]:
        """Yield every quad of one named graph about the given subjects (N-Triples text)."""
        wanted = list(dict.fromkeys(subjects))
        for start in range(0, len(wanted), _SUBJECTS_PER_QUERY):
            values = " ".join(wanted[start : start + _SUBJECTS_PER_QUERY])
            query = f"SELECT ?s ?p ?o WHERE {{ GRAPH <{graph}> {{ VALUES ?s {{ {values} }} ?s ?p ?o }} }}"
            for s, p, o in self.select_terms(query):
                yield (graph, s, p, o)

    def has_property(self, graph: str, predicates: Iterable[str]) -> bool:
        """Whether one named graph says anything by one of some properties (N-Triples text)."""
        values = " ".join(predicates)
        return bool(
            self.select(f"SELECT ?s WHERE {{ GRAPH <{graph}> {{ VALUES ?p {{ {values} }} ?s ?p ?o }} }} LIMIT 1")
        )

    def is_empty(self, graph: str) -> bool:
        """Whether one named graph holds nothing."""
        return not self.select(f"SELECT ?s WHERE {{ GRAPH <{graph}> {{ ?s ?p ?o }} }} LIMIT 1")

    def count(self, graph: str) -> int:
        """Return the number of triples of one named graph."""
        return int(self.select(f"SELECT (COUNT(*) AS ?n) WHERE {{ GRAPH <{graph}> {{ ?s ?p ?o }} }}")[0][0])
