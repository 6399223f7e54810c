"""How much of a store is said by others: triples that no record of ours carries."""

from __future__ import annotations

from ontology.mapping.writer import build_scale_quads, build_table_quads
from ontology.model.tables import TABLES
from ontology.rdf.namespaces import DATA_GRAPHS
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store


def count_foreign(store: Store, snapshot: Snapshot) -> int:
    """Return how many triples of the data graphs no table holds. O(n) for n triples.

    Parameters
    ----------
    snapshot : Snapshot
        Of the store's present revision.
    """
    n_own = sum(len(build_scale_quads(scale, levels)) for scale, levels in snapshot.scales.items())
    for name, table in TABLES.items():
        n_own += len(build_table_quads(table, list(snapshot.get_all(name).values())))
    return sum(store.count(graph) for graph in DATA_GRAPHS) - n_own
