"""Runs the queries made from the shapes: over quads that wait to be committed, and over a store.

pySHACL takes minutes for a graph of a million triples; the queries take seconds and give the same findings.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Final

from ontology.checks.shape_queries import Layout, ShapeQuery, build_shape_queries
from ontology.checks.shapes import build_finding, build_shapes_graph
from ontology.errors import Finding
from ontology.model.tables import NODE_TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.engine import Store

_STAGED: Final = Layout(default=ns.GRAPH + "staged", referred=ns.GRAPH + "referred")
#: A record's triples stand in the graph of its table, and a scale's among the framework.
_STORED: Final = Layout(
    default=ns.GRAPH_FRAMEWORK, by_class={table.class_iri: table.graph for table in NODE_TABLES.values()}
)
_NODES_PER_QUERY: Final = 500
#: Quads that are staged at a time; each takes about 300 bytes in the store in memory.
_QUADS_PER_STAGE: Final = 100_000
_SUBCLASS_OF: Final = ns.iri_term(ns.RDFS + "subClassOf")


@cache
def _get_queries(is_staged: bool) -> tuple[ShapeQuery, ...]:
    return build_shape_queries(build_shapes_graph(), _STAGED if is_staged else _STORED)


@cache
def _get_reference_paths() -> frozenset[str]:
    """Return the properties (N-Triples text) whose values must be of a class."""
    return frozenset(ns.iri_term(query.path) for query in _get_queries(True) if query.component == "class")


def check_quads(
    quads: Sequence[Quad], types_of_others: Iterable[Quad] = (), *, with_references: bool = True
) -> list[Finding]:
    """Return every violation of the shapes among quads that stand in no store yet, as `check_shapes` would.

    Parameters
    ----------
    quads : (n,) quads
        Every node among them that is of a shape's class is checked; their graphs are taken together.
    types_of_others : quads
        The types of nodes that `quads` refer to but do not describe; these nodes are not checked.
    with_references : bool
        Whether a reference to a node that is not of the class asked for is a finding.

    Notes
    -----
    O(n) time and memory: the quads are copied into a store in memory. Numbers are shown in canonical form there
    ("3" for "03"), and two forms of one value count as one, as in every store.
    """
    staging = Store.in_memory()
    staging.fill(_STAGED.default, quads)
    staging.fill(_STAGED.referred, types_of_others)
    predicates = {quad[2] for quad in quads}
    classes = {quad[3] for quad in quads if quad[2] == ns.RDF_TYPE}
    queries = [
        query
        for query in _get_queries(True)
        if (ns.iri_term(query.class_iri) in classes or _SUBCLASS_OF in predicates)
        and (not query.needs_value or ns.iri_term(query.path) in predicates)
        and (with_references or query.component != "class")
    ]
    return _run(staging, queries, [_STAGED.default])


def check_blocks(store: Store, blocks: Iterable[Sequence[Quad]], types: Iterable[Quad]) -> list[Finding]:
    """Return every violation of the shapes among quads that wait to be committed, as `check_quads` would over all.

    Parameters
    ----------
    store : the store before the change
    blocks : quads, gone through once, all of a node in one block
    types : quads
        The types among them of all nodes that others among them may refer to.

    Notes
    -----
    O(n) time for n quads, and O(stage + types) memory. Only direct types of nodes in other stages count: quads that
    say themselves which class is a part of which belong into one block.
    """
    said: defaultdict[str, list[Quad]] = defaultdict(list)
    for quad in types:
        said[quad[1]].append(quad)
    found: dict[Finding, None] = {}
    for stage in _gather(blocks):
        found.update(dict.fromkeys(check_quads(stage, read_types_of_others(store, stage, said))))
    return sorted(found)


def _gather(blocks: Iterable[Sequence[Quad]]) -> Iterator[list[Quad]]:
    """Put blocks together until there is enough for one stage."""
    stage: list[Quad] = []
    for block in blocks:
        stage += block
        if len(stage) >= _QUADS_PER_STAGE:
            yield stage
            stage = []
    if stage:
        yield stage


def check_store(store: Store) -> list[Finding]:
    """Return every violation of the shapes in a store's graphs, as `check_shapes` would over all of them."""
    return _run(store, _get_queries(False), ns.DATA_GRAPHS)


def read_types_of_others(
    store: Store, quads: Iterable[Quad], said: Mapping[str, Sequence[Quad]] = MappingProxyType({})
) -> list[Quad]:
    """Return the types of what quads refer to without making it one of our records.

    Those `said` elsewhere in the same change (node -> its types) where they make it one, otherwise those in the store.
    """
    paths = _get_reference_paths()
    classes = {ns.iri_term(query.class_iri) for query in _get_queries(True)}
    described: set[str] = set()
    referred: set[str] = set()
    for _, s, p, o in quads:
        if p in paths:
            if o.startswith("<"):
                referred.add(o)
        elif p == ns.RDF_TYPE and o in classes:
            described.add(s)
    others = referred - described
    told = {node for node in others if any(quad[3] in classes for quad in said.get(node, ()))}
    types = [quad for node in sorted(told) for quad in said[node]]
    return [*types, *_iterate_types(store, others - told, ns.DATA_GRAPHS)]


def _run(store: Store, queries: Iterable[ShapeQuery], graphs: Iterable[str]) -> list[Finding]:
    rows: list[tuple[ShapeQuery, str, str]] = []
    for query in queries:
        rows += [(query, node, value) for node, value in store.select_terms(query.text)]
    types: defaultdict[str, set[str]] = defaultdict(set)
    for _, node, _, kind in _iterate_types(store, {node for _, node, _ in rows}, graphs):
        types[node].add(_get_name(kind))
    found = {
        build_finding(types[node] or {query.class_iri}, _get_name(node), query.path, value, query.message)
        for query, node, value in rows
    }
    return sorted(found)


def _iterate_types(store: Store, nodes: Iterable[str], graphs: Iterable[str]) -> Iterator[Quad]:
    """Read the types of nodes; a blank node cannot be asked for by its name."""
    named = sorted(node for node in nodes if node.startswith("<"))
    for graph in graphs:
        for start in range(0, len(named), _NODES_PER_QUERY):
            values = " ".join(named[start : start + _NODES_PER_QUERY])
            query = f"SELECT ?s ?o WHERE {{ GRAPH <{graph}> {{ VALUES ?s {{ {values} }} ?s a ?o }} }}"
            for s, o in store.select_terms(query):
                yield (graph, s, ns.RDF_TYPE, o)


def _get_name(node: str) -> str:
    return node[1:-1] if node.startswith("<") else node.removeprefix("_:")
