"""From SHACL shapes to SPARQL: one SELECT per class, path and constraint.

The shapes are the norm; this generator knows exactly the terms of SHACL Core (W3C Recommendation, 20 July 2017) that
they use and refuses every other, so a shape with a new term can never be passed over in silence. The text is portable
SPARQL 1.1: named graphs, sub-selects, MINUS, EXISTS, IF, COALESCE, and property paths with one end bound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from rdflib import RDF, SH, Graph
from rdflib.term import Node

from ontology.checks.value_tests import (
    VALUE_TESTS,
    build_conjunction,
    build_value_test,
    get_nested_shapes,
    is_iri,
    make_order_test,
)
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import get_term_text

#: What describes a shape and constrains nothing.
_NOTES: Final = frozenset(str(SH[name]) for name in ("name", "order", "message", "defaultValue"))
_SUBCLASS_OF: Final = ns.iri_term(ns.RDFS + "subClassOf")
_NODE_FRAME: Final = frozenset((str(SH.property), str(SH.targetClass)))
#: The shape that a qualified count is of: a parameter of it, no constraint by itself.
_PROPERTY_FRAME: Final = frozenset((str(SH.path), str(SH.qualifiedValueShape)))


@dataclass(frozen=True)
class Layout:
    """Which named graph holds the nodes of which class.

    Parameters
    ----------
    by_class : class IRI -> graph IRI
    default : str
        Graph of the classes that `by_class` does not name.
    referred : str
        A further graph whose types count for a reference, but whose nodes are not checked; empty: none.
    """

    default: str
    by_class: Mapping[str, str] = field(default_factory=dict)
    referred: str = ""

    def get_graph(self, class_iri: str) -> str:
        """Return the IRI of the graph that holds the nodes of a class."""
        return self.by_class.get(class_iri, self.default)


@dataclass(frozen=True, slots=True)
class ShapeQuery:
    """One constraint as a SELECT of the nodes (`?s`) that break it, each with the value (`?v`) where one is at fault.

    Parameters
    ----------
    component : str
        Local name of the SHACL term: "minCount".
    class_iri : str
        The target class.
    path : str
        IRI of the property; empty where the node itself is checked.
    message : str
        What would be right, in the words of the shape.
    text : str
        The query.
    needs_value : bool
        Whether only a node that has a value of `path` can break it.
    """

    component: str
    class_iri: str
    path: str
    message: str
    text: str
    needs_value: bool


def build_shape_queries(shapes: Graph, layout: Layout) -> tuple[ShapeQuery, ...]:
    """Return the queries of all shapes.

    Parameters
    ----------
    shapes : rdflib.Graph
        Not changed.
    layout : Layout
        Where the data stand.

    Returns
    -------
    tuple of ShapeQuery
        In the order of classes, paths and terms, the same for the same shapes.

    Raises
    ------
    ValueError
        A shape uses a term, or a value of a term, for which no query is known; or it has no message.
    """
    visited: set[Node] = set()
    queries: list[ShapeQuery] = []
    for shape in sorted(shapes.subjects(RDF.type, SH.NodeShape), key=str):
        targets = list(shapes.objects(shape, SH.targetClass))
        if len(targets) != 1 or not is_iri(targets[0]):
            raise ValueError(f"{shape} needs exactly one target class")
        target = _Target(shapes, layout, str(targets[0]))
        visited.add(shape)
        queries += target.build_node_queries(shape)
        for node in shapes.objects(shape, SH.property):
            visited.add(node)
            queries += target.build_property_queries(node)
    visited.update(deeper for node in list(visited) for deeper in get_nested_shapes(shapes, node))
    for node, term in shapes.subject_predicates():
        if node not in visited and str(term).startswith(ns.SH):
            raise ValueError(f"no query is known for a shape that no node shape with a target class holds: {term}")
    return tuple(sorted(set(queries), key=lambda query: (query.class_iri, query.path, query.component, query.text)))


class _Target:
    """Makes the queries of one target class."""

    def __init__(self, shapes: Graph, layout: Layout, class_iri: str) -> None:
        self.shapes = shapes
        self.layout = layout
        self.class_iri = class_iri
        self.graph = layout.get_graph(class_iri)
        self.is_target = (
            f"(EXISTS {{ GRAPH <{self.graph}> {{ ?s a <{class_iri}> }} }} || "
            f"EXISTS {{ GRAPH <{self.graph}> {{ ?s a/{_SUBCLASS_OF}+ <{class_iri}> }} }})"
        )
        self.without_value: Mapping[str, Callable[[str, Node], str]] = {
            str(SH.minCount): self._select_missing,
            str(SH.hasValue): self._select_without,
        }
        self.with_value: Mapping[str, Callable[[str, Node], str]] = {
            str(SH["class"]): self._select_of_other_class,
            str(SH.maxCount): self._select_too_many,
            str(SH.uniqueLang): self._select_twice_in_a_language,
            str(SH.lessThanOrEquals): self._select_out_of_order,
        }
        self.qualified: Mapping[str, Callable[[str, Node, str], str]] = {
            str(SH.qualifiedMinCount): self._select_missing,
            str(SH.qualifiedMaxCount): self._select_too_many,
        }

    def build_node_queries(self, shape: Node) -> Iterator[ShapeQuery]:
        """Yield the queries of the constraints on the node itself."""
        for term, parameter in self._iterate_constraints(shape, _NODE_FRAME):
            test = build_value_test(self.shapes, term, parameter)
            text = self._select_targets(f"BIND(?s AS ?v) FILTER(!{test})")
            yield self._make(term, "", shape, text, needs_value=False)

    def build_property_queries(self, node: Node) -> Iterator[ShapeQuery]:
        """Yield the queries of a property shape."""
        paths = list(self.shapes.objects(node, SH.path))
        if len(paths) != 1 or not is_iri(paths[0]):
            raise ValueError(f"no query is known for a path that is not one property: {paths}")
        path = str(paths[0])
        for term, parameter in self._iterate_constraints(node, _PROPERTY_FRAME):
            if term in self.qualified:
                text = self.qualified[term](path, parameter, self._build_filter(node))
            elif term in self.without_value:
                text = self.without_value[term](path, parameter)
            elif term in self.with_value:
                text = self.with_value[term](path, parameter)
            else:
                test = build_value_test(self.shapes, term, parameter)
                text = self._select_faulty(f"?s <{path}> ?v", test)
            needs_value = term not in self.without_value and term != str(SH.qualifiedMinCount)
            yield self._make(term, path, node, text, needs_value=needs_value)

    def _iterate_constraints(self, node: Node, frame: frozenset[str]) -> Iterator[tuple[str, Node]]:
        for term, parameter in sorted(self.shapes.predicate_objects(node)):
            if term != RDF.type and str(term) not in _NOTES | frame:
                yield str(term), parameter

    def _make(self, term: str, path: str, node: Node, text: str, *, needs_value: bool) -> ShapeQuery:
        messages = [str(message) for message in self.shapes.objects(node, SH.message)]
        if not messages:
            raise ValueError(f"a shape of {self.class_iri} has a constraint but no message: {path} {term}")
        return ShapeQuery(term.removeprefix(ns.SH), self.class_iri, path, min(messages), text, needs_value)

    def _select_faulty(self, pattern: str, test: str) -> str:
        # IF keeps the order: hardly any value is faulty, so the class is looked up for hardly any node. Written as a
        # join or with &&, the engine joins every value with the class first, which takes three times as long.
        return (
            f"SELECT ?s ?v WHERE {{ GRAPH <{self.graph}> {{ {pattern} }} FILTER(IF({test}, false, {self.is_target})) }}"
        )

    def _select_targets(self, rest: str) -> str:
        # a union, since a path from every node to the class would be walked from the wrong end
        return (
            f"SELECT ?s ?v WHERE {{ {{ GRAPH <{self.graph}> {{ ?s a <{self.class_iri}> }} }} UNION "
            f"{{ GRAPH <{self.graph}> {{ ?kind {_SUBCLASS_OF}+ <{self.class_iri}> . ?s a ?kind }} }} {rest} }}"
        )

    def _build_filter(self, node: Node) -> str:
        """Return the filter of the values that a qualified count counts."""
        (shape,) = self.shapes.objects(node, SH.qualifiedValueShape)
        return f" FILTER({build_conjunction(self.shapes, shape)})"

    def _select_missing(self, path: str, parameter: Node, which: str = "") -> str:
        if str(parameter) != "1":
            raise ValueError(f"no query is known for sh:minCount {parameter}")
        return self._select_targets(f"MINUS {{ GRAPH <{self.graph}> {{ ?s <{path}> ?v{which} }} }}")

    def _select_without(self, path: str, parameter: Node) -> str:
        return self._select_targets(f"MINUS {{ GRAPH <{self.graph}> {{ ?s <{path}> {get_term_text(parameter)} }} }}")

    def _select_too_many(self, path: str, parameter: Node, which: str = "") -> str:
        counted = (
            f"SELECT ?s (COUNT(?v) AS ?n) WHERE {{ GRAPH <{self.graph}> {{ ?s <{path}> ?v{which} }} }} GROUP BY ?s"
        )
        is_broken = f"IF(?n > {int(str(parameter))}, {self.is_target}, false)"
        return f"SELECT ?s ?v WHERE {{ {{ {counted} }} FILTER({is_broken}) }}"

    def _select_twice_in_a_language(self, path: str, parameter: Node) -> str:
        if parameter.toPython() is not True:  # type: ignore[attr-defined]
            raise ValueError(f"no query is known for sh:uniqueLang {parameter}")
        # tags are compared without regard to case (RDF 1.1 Concepts, 3.3)
        found = f'GRAPH <{self.graph}> {{ ?s <{path}> ?v FILTER(LANG(?v) != "") BIND(LCASE(LANG(?v)) AS ?tag) }}'
        counted = f"SELECT ?s ?tag (COUNT(?v) AS ?n) WHERE {{ {found} }} GROUP BY ?s ?tag"
        return f"SELECT DISTINCT ?s ?v WHERE {{ {{ {counted} }} FILTER(IF(?n > 1, {self.is_target}, false)) }}"

    def _select_of_other_class(self, path: str, parameter: Node) -> str:
        if not is_iri(parameter):
            raise ValueError(f"sh:class names a class, not {parameter}")
        graph = self.layout.get_graph(str(parameter))
        sound = f"{{ GRAPH <{graph}> {{ ?v a/{_SUBCLASS_OF}* <{parameter}> }} }}"
        if self.layout.referred:
            sound += f" UNION {{ GRAPH <{self.layout.referred}> {{ ?v a <{parameter}> }} }}"
        # the sub-select keeps the order, as IF does above
        inner = f"SELECT ?s ?v WHERE {{ GRAPH <{self.graph}> {{ ?s <{path}> ?v }} MINUS {{ {sound} }} }}"
        return f"SELECT ?s ?v WHERE {{ {{ {inner} }} FILTER({self.is_target}) }}"

    def _select_out_of_order(self, path: str, parameter: Node) -> str:
        if not is_iri(parameter):
            raise ValueError(f"sh:lessThanOrEquals names a property, not {parameter}")
        return self._select_faulty(f"?s <{path}> ?v . ?s <{parameter}> ?w", make_order_test("?v", "?w"))


def get_known_terms() -> frozenset[str]:
    """Return the IRIs of the SHACL terms that the generator knows."""
    names = ("class", "minCount", "maxCount", "hasValue", "lessThanOrEquals", "uniqueLang")
    on_paths = {str(SH[name]) for name in (*names, "qualifiedMinCount", "qualifiedMaxCount")}
    return frozenset(VALUE_TESTS) | _NOTES | _NODE_FRAME | _PROPERTY_FRAME | on_paths
