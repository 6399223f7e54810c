"""The Turtle of the vocabulary and the description of the tables say the same, in both directions."""

from __future__ import annotations

import inspect
import re
from collections import defaultdict

import pytest
from rdflib import OWL, RDF, RDFS, XSD, Graph, URIRef

from ontology.checks.skos import check_skos
from ontology.model.columns import Column, camel_case
from ontology.model.tables import NODE_TABLES, TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import OWN_SUPERCLASSES
from ontology.rdf.vocabulary_terms import get_standard_types, get_terms, read_vocabulary
from ontology.store import commit_text, drafts, releases
from ontology.store import engine as store

DOMAIN_INCLUDES = URIRef(ns.SCHEMA + "domainIncludes")
USAGE = URIRef(ns.NW + "usage")
#: Terms that belong to no column: what the store writes about itself, and what the vocabulary needs for itself.
STORE_TERMS = {
    term
    for module in (store, commit_text, drafts, releases)
    for term in re.findall(r'ns\.NW \+ "(\w+)"', inspect.getsource(module))
}
OTHER_TERMS = {"Record", "Scale", "Store", "PatchFile", "usage"}
RANGES = {
    "text": XSD.string,
    "choice": XSD.string,
    "integer": XSD.integer,
    "number": XSD.decimal,
    "flag": XSD.boolean,
    "date": XSD.date,
}


def collect_uses() -> dict[str, list[tuple[str, Column]]]:
    uses: defaultdict[str, list[tuple[str, Column]]] = defaultdict(list)
    for table in NODE_TABLES.values():
        for column in table.columns:
            uses[column.iri].append((table.class_iri, column))
    return uses


USES = collect_uses()
OWN_PROPERTIES = sorted(iri for iri in USES if iri.startswith(ns.NW))
CLASSES = sorted({table.class_iri for table in NODE_TABLES.values()} | {ns.NW + "Scale"})


@pytest.fixture(scope="module")
def graph() -> Graph:
    return read_vocabulary()


@pytest.mark.parametrize("iri", CLASSES)
def test_class_of_every_table_is_described(graph: Graph, iri: str) -> None:
    node = URIRef(iri)
    assert {RDFS.Class, OWL.Class} <= set(graph.objects(node, RDF.type))
    assert graph.value(node, RDFS.label)
    assert graph.value(node, RDFS.comment)
    assert graph.value(node, RDFS.subClassOf)


@pytest.mark.parametrize("iri", OWN_PROPERTIES)
def test_property_of_every_column_is_described_as_the_tables_use_it(graph: Graph, iri: str) -> None:
    node = URIRef(iri)
    classes = {URIRef(kind) for kind, _ in USES[iri]}
    column = USES[iri][0][1]
    assert camel_case(column.name) == iri.removeprefix(ns.NW)
    kind = OWL.ObjectProperty if column.refers_to else OWL.DatatypeProperty
    assert {RDF.Property, kind} <= set(graph.objects(node, RDF.type))
    assert graph.value(node, RDFS.label)
    assert graph.value(node, RDFS.comment)
    domain = graph.value(node, RDFS.domain)
    if len(classes) == 1:
        assert {domain} == classes
    else:
        assert domain == URIRef(ns.NW + "Record")
        assert set(graph.objects(node, DOMAIN_INCLUDES)) == classes
    if column.refers_to:
        target = ns.NW + "Scale" if column.refers_to == "scales" else TABLES[column.refers_to].class_iri
        assert graph.value(node, RDFS.range) == URIRef(target)
    else:
        assert graph.value(node, RDFS.range) == RANGES[column.kind]


def test_vocabulary_has_no_term_that_nothing_uses() -> None:
    used = {iri.removeprefix(ns.NW) for iri in (*CLASSES, *OWN_PROPERTIES)} | STORE_TERMS | OTHER_TERMS
    assert {term[1:-1].removeprefix(ns.NW) for term in get_terms()} == used


def test_every_own_term_has_type_label_comment_domain_and_range(graph: Graph) -> None:
    for term in sorted(get_terms()):
        node = URIRef(term[1:-1])
        assert (node, RDFS.label, None) in graph, term
        assert (node, RDFS.comment, None) in graph, term
        if (node, RDF.type, RDF.Property) in graph:
            assert (node, RDFS.domain, None) in graph, term
            assert (node, RDFS.range, None) in graph, term


def test_reused_standard_properties_say_how_they_are_used(graph: Graph) -> None:
    reused = {URIRef(iri) for iri in USES if not iri.startswith(ns.NW)}
    assert reused == {node for node in reused if (node, USAGE, None) in graph}


def test_nothing_is_said_about_terms_of_others_but_their_usage(graph: Graph) -> None:
    subjects = {s for s in graph.subjects() if not str(s).startswith(ns.NW.rstrip("#"))}
    assert {p for s in subjects for p in graph.predicates(s)} == {USAGE}


def test_own_superclasses_of_the_entailments_are_those_of_the_vocabulary() -> None:
    concept = ns.iri_term(ns.SKOS + "Concept")
    ordered = ns.iri_term(ns.SKOS + "OrderedCollection")
    for name, kinds in get_standard_types().items():
        assert (concept in kinds) == (concept in OWN_SUPERCLASSES.get(name, ())), name
        assert (ordered in kinds) == (ordered in OWN_SUPERCLASSES.get(name, ())), name


def test_scale_is_neither_concept_nor_scheme() -> None:
    # SKOS Reference, S37: a collection is disjoint with both
    kinds = get_standard_types()[ns.iri_term(ns.NW + "Scale")]
    assert kinds == {ns.iri_term(ns.SKOS + "OrderedCollection"), ns.iri_term(ns.SKOS + "Collection")}


def test_assessment_is_an_entity_and_no_activity() -> None:
    # PROV-O: prov:Entity and prov:Activity are disjoint
    kinds = get_standard_types()[ns.iri_term(ns.NW + "Assessment")]
    assert kinds == {ns.iri_term(ns.PROV + "Entity")}


def test_vocabulary_breaks_no_skos_condition(graph: Graph) -> None:
    assert check_skos(graph) == []


def test_vocabulary_has_no_blank_nodes(graph: Graph) -> None:
    assert [node for node in graph.all_nodes() if not str(node).startswith("http") and isinstance(node, URIRef)] == []
    assert all(type(node).__name__ != "BNode" for node in graph.all_nodes())
