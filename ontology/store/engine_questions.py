"""Asking the engine: rows of a SELECT as text through CSV, or as N-Triples terms."""

from __future__ import annotations

import csv
import io
from abc import abstractmethod
from collections.abc import Iterator
from pathlib import Path

import pyoxigraph as ox

from ontology.store.engine_faults import reading_store
from ontology.store.questions import StoreQuestions


class EngineQuestions(StoreQuestions):
    """The questions of a store that lives in an engine of this process."""

    _engine: ox.Store

    @property
    @abstractmethod
    def path(self) -> Path | None:
        """The folder on disk, None for a store in memory."""

    def select(self, query: str) -> list[tuple[str, ...]]:
        """Return the rows of a SELECT: IRIs without brackets, lexical forms, the empty string where unbound."""
        return list(map(tuple, self.select_rows(query)))

    def select_rows(self, query: str) -> Iterator[list[str]]:
        """Return the rows of `select` one by one, through SPARQL 1.1 CSV results, the fastest form of the engine."""
        with reading_store(self.path):
            text = (self._query(query).serialize(format=ox.QueryResultsFormat.CSV) or b"").decode()
        rows = csv.reader(io.StringIO(text, newline=""))
        next(rows)
        return rows

    def select_terms(self, query: str) -> Iterator[tuple[str, ...]]:
        """Yield the rows of a SELECT as N-Triples terms, so that datatypes and languages are kept."""
        with reading_store(self.path):
            result = self._query(query)
            names = result.variables
            for solution in result:
                yield tuple(str(solution[name]) if solution[name] is not None else "" for name in names)

    def _query(self, query: str) -> ox.QuerySolutions:
        result = self._engine.query(query)
        if not isinstance(result, ox.QuerySolutions):
            raise ValueError("only SELECT queries have rows")
        return result
