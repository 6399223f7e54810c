"""How much of a store is said by others: triples that no record of ours carries. Imports store, writer, snapshot."""

from __future__ import annotations

from ontology.graph.snapshot import Snapshot
from ontology.namespaces import DATA_GRAPHS
from ontology.store import Store
from ontology.tables import TABLES
from ontology.writer import build_scale_quads, build_table_quads


def count_foreign(store: Store, snapshot: Snapshot) -> int:
    """Return how many triples of the data graphs no table holds. O(n) for n triples.

    Parameters
    ----------
    store : Store
    snapshot : Snapshot
        Of the store's present revision.
    """
    n_own = sum(len(build_scale_quads(scale, levels)) for scale, levels in snapshot.scales.items())
    for name, table in TABLES.items():
        n_own += len(build_table_quads(table, list(snapshot.get_table(name).values())))
    return sum(store.count(graph) for graph in DATA_GRAPHS) - n_own
