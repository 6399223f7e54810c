"""SPARQL at the size of ESCO: what a process of its own costs a light query, and how soon a hard one is over.

Run: python -m tests.benchmarks queries. Base: the same query put to the engine in this process.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pyoxigraph as ox
from store_load import DEFAULT_FOLDER, load_into_store

from ontology.errors import QueryLimitError
from ontology.rdf import namespaces as ns
from ontology.store.query_process import Query, QueryLimits
from ontology.store.queryable import ASKED_GRAPHS

LIGHT = f"SELECT ?s ?label {{ ?s a <{ns.NW}Role> ; <{ns.SKOS}prefLabel> ?label }} LIMIT 20"
HARD = "SELECT * { ?s ?p ?o } ORDER BY ?o ?s"
TIMES = 200
LIMIT_S = 1.0


def measure(ask: Callable[[], object], times: int) -> float:
    """Return the median of seconds by the clock."""
    told = []
    for _ in range(times):
        began = time.perf_counter()
        ask()
        told.append(time.perf_counter() - began)
    return statistics.median(told)


def main(folder: Path = DEFAULT_FOLDER) -> None:
    """Print the table."""
    if not folder.is_dir():
        print(f"{folder} is not there: name the folder of the official ESCO files")
        return
    with tempfile.TemporaryDirectory() as name:
        graph = load_into_store(folder, Path(name))
        store, graphs = graph.store, [ox.NamedNode(iri) for iri in ASKED_GRAPHS]
        engine = store._engine

        def ask(text: str, seconds: float = 60.0) -> None:
            with suppress(QueryLimitError):
                store.queries.ask(Query(text, ASKED_GRAPHS, ASKED_GRAPHS), QueryLimits(seconds))

        first = measure(lambda: ask(LIGHT), 1)
        through = measure(lambda: ask(LIGHT), TIMES)
        inside = measure(
            lambda: engine.query(LIGHT, default_graph=graphs, named_graphs=graphs).serialize(
                format=ox.QueryResultsFormat.JSON
            ),
            TIMES,
        )
        over = measure(lambda: ask(HARD, LIMIT_S), 5) - LIMIT_S
        print(f"{'what':<58}{'goal':>10}{'measured':>12}")
        print(f"{'first query: copy, process, opening (s)':<58}{'':>10}{first:>12.3g}")
        print(f"{'a light query (ms)':<58}{'':>10}{through * 1e3:>12.3g}")
        print(f"{'a light query : in this process':<58}{'<= 15':>10}{through / inside:>12.3g}")
        print(f"{'past the limit of a query that would take longer (s)':<58}{'<= 0.2':>10}{over:>12.3g}")
        graph.close()


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
