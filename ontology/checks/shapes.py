"""The one door to pySHACL: data against the shapes, every violation as a finding.

The files below ``ontology/shapes`` are the norm (SHACL Core, W3C Recommendation, 20 July 2017).
pySHACL adds two triples of its own to the shapes that it is given, the same each time: it is given a graph that nobody
else has, and that is not made anew for every commit.
"""

from __future__ import annotations

import warnings
from collections.abc import Collection, Iterable
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock
from typing import Final

import pyshacl
from pyshacl.errors import ReportableRuntimeError
from rdflib import RDF, RDFS, SH, Graph, URIRef
from rdflib.term import Node

from ontology.errors import Finding
from ontology.model.columns import Table
from ontology.model.tables import NODE_TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import build_graph, get_plain_value, get_term_text

SHAPES_FOLDER: Final = Path(__file__).resolve().parent.parent / "shapes"

#: pySHACL patches rdflib while it runs, and warning filters belong to the whole process: one check at a time.
_LOCK: Final = Lock()
_TABLE_BY_CLASS: Final = {table.class_iri: table for table in NODE_TABLES.values()}


@cache
def _read_shapes() -> dict[Node, Graph]:
    """Return class -> the shapes of its nodes; every file holds those of one class."""
    by_class = {}
    for path in sorted(SHAPES_FOLDER.glob("*.ttl")):
        graph = Graph().parse(path, format="turtle")
        by_class[_get_target(graph)] = graph
    return by_class


def _get_target(shapes: Graph) -> Node:
    (target,) = shapes.objects(None, SH.targetClass)
    return target


@lru_cache(maxsize=64)
def _get_shapes_given(classes: frozenset[Node] | None, *, has_order: bool) -> Graph:
    """Return the shapes as pySHACL is given them: those of some classes, without what asks for an order of two values.

    `classes` None: of all; what nobody has to look at takes as long as what is looked at.
    """
    shapes = build_shapes_graph(classes)
    if not has_order:
        shapes.remove((None, SH.lessThanOrEquals, None))
    return shapes


def build_shapes_graph(classes: Collection[Node] | None = None) -> Graph:
    """Return a fresh graph of all shapes (about 2,300 triples), or of those of some classes."""
    fresh = Graph()
    for target, shapes in _read_shapes().items():
        if classes is None or target in classes:
            fresh += shapes
    return fresh


def _copy(graph: Graph) -> Graph:
    fresh = Graph()
    for triple in graph:
        fresh.add(triple)
    return fresh


def check_shapes(
    data: Graph | Iterable[tuple[str, ...]],
    focus_nodes: Iterable[str] | None = None,
    *,
    with_references: bool = True,
) -> list[Finding]:
    """Return every violation of the shapes, with its address.

    Parameters
    ----------
    data : rdflib.Graph, or triples (or quads) in N-Triples text
        Not changed. It must hold the types of the objects that the checked nodes refer to.
    focus_nodes : iterable of IRIs (with or without angle brackets), optional
        Check these only; all when left out.
    with_references : bool
        Whether a reference to a node that `data` does not type as asked is a finding; switch it off for
        a part that may refer to what the store already holds.

    Returns
    -------
    list[Finding]
        Sorted: `source` is the table, `column` the column's name, `value` the value, `about` the table and the
        parts of the record's key, and the reason names the record and says what would be right.

    Notes
    -----
    pySHACL takes about 0.2 ms per triple; `ontology.checks.shape_runs` is for large loads.
    """
    graph = _copy(data) if isinstance(data, Graph) else build_graph(data)
    focus: list[URIRef] | None = None
    classes: frozenset[Node] | None = None
    if focus_nodes is not None:
        wanted = {node[1:-1] if node.startswith("<") else node for node in focus_nodes}
        focus = [URIRef(node) for node in sorted(wanted) if _is_described(graph, URIRef(node))]
        if not focus:
            return []
        classes = _find_classes(graph, focus)
    try:
        report = _validate(graph, _aim(_get_shapes_given(classes, has_order=True), graph, focus))
    except (TypeError, ReportableRuntimeError):
        # a value of the wrong kind cannot be put in order; the other constraints on it say what is wrong
        report = _validate(graph, _aim(_get_shapes_given(classes, has_order=False), graph, focus))
    found = set()
    for result in report.subjects(RDF.type, SH.ValidationResult):
        if not with_references and report.value(result, SH.sourceConstraintComponent) == SH.ClassConstraintComponent:
            continue
        found.add(_build_finding(graph, report, result))
    return sorted(found)


def _find_classes(graph: Graph, nodes: Iterable[str]) -> frozenset[Node]:
    """Return the classes that nodes are of, by what the data says of classes, too."""
    kinds = {kind for node in nodes for kind in graph.objects(URIRef(node), RDF.type)}
    wider = [other for kind in kinds for other in graph.transitive_objects(kind, RDFS.subClassOf)]
    return frozenset(filter(None, wider))


def _aim(shapes: Graph, graph: Graph, focus: Iterable[URIRef] | None) -> Graph:
    """Return shapes whose targets are some nodes, each for the shape of its class; None: all nodes, as they are.

    pySHACL can be told which nodes to look at, but then looks at no value inside sh:or and sh:not either (0.40.1).
    """
    if focus is None:
        return shapes
    shape_of: dict[Node, Node] = {kind: shape for shape, kind in shapes.subject_objects(SH.targetClass)}
    aimed = _copy(shapes)
    aimed.remove((None, SH.targetClass, None))
    for node in focus:
        for kind in _find_classes(graph, [node]) & shape_of.keys():
            aimed.add((shape_of[kind], SH.targetNode, node))
    return aimed


def _validate(graph: Graph, shapes: Graph) -> Graph:
    with _LOCK, warnings.catch_warnings():
        # rdflib compares values of different kinds in a way that Python deprecates
        warnings.simplefilter("ignore", DeprecationWarning)
        _, report, _ = pyshacl.validate(graph, shacl_graph=shapes, inplace=True, advanced=False, inference="none")
    if not isinstance(report, Graph):
        raise RuntimeError(f"pySHACL gave no report: {report}")
    return report


def _is_described(graph: Graph, node: URIRef) -> bool:
    return (node, RDF.type, None) in graph


def _build_finding(graph: Graph, report: Graph, result: Node) -> Finding:
    focus = report.value(result, SH.focusNode)
    path = report.value(result, SH.resultPath)
    value = report.value(result, SH.value)
    message = min((str(text) for text in report.objects(result, SH.resultMessage)), default="does not fit its shape")
    return build_finding(
        map(str, graph.objects(focus, RDF.type)),
        str(focus),
        str(path) if path is not None else "",
        get_term_text(value) if value is not None else "",
        message,
    )


def build_finding(types: Iterable[str], focus: str, path: str, value: str, message: str) -> Finding:
    """Return a violation as a finding with its address.

    `types`, `focus` and `path` are IRIs, or `focus` the name of a blank node; `value` is N-Triples text, and `path` and
    `value` are empty where the node itself is at fault. `message` says what would be right.
    """
    table = _find_table(types)
    return Finding(
        "error",
        table.name if table else "scales",
        0,
        _find_column(table, path) if path else "",
        get_plain_value(value),
        f"{shorten_iri(focus)}: {message}",
        (table.name, *ns.key_from_iri(focus)) if table and focus.startswith(ns.ID) else (),
    )


def _find_table(types: Iterable[str]) -> Table | None:
    for kind in sorted(types):
        if kind in _TABLE_BY_CLASS:
            return _TABLE_BY_CLASS[kind]
    return None


def _find_column(table: Table | None, path: str) -> str:
    if table is not None:
        for column in table.columns:
            if column.iri == path:
                return column.name
    return shorten_iri(path)


def shorten_iri(iri: str) -> str:
    """Return an IRI of ours without its start, one of a known vocabulary with its prefix, another whole."""
    if iri.startswith(ns.ID):
        return iri[len(ns.ID) :]
    for prefix, start in ns.PREFIXES.items():
        if iri.startswith(start):
            return f"{prefix}:{iri[len(start) :]}"
    return iri
