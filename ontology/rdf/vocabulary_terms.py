"""What our vocabulary says, read from its Turtle files: terms, and which standard classes ours are."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from rdflib import RDFS, Graph, URIRef

from ontology.rdf import namespaces as ns

VOCABULARY_FOLDER: Final = Path(__file__).resolve().parent.parent / "vocabulary"
#: The classes of others that are subclasses of others again, as their own documents say.
_ABOVE: Final = {ns.ORG + "Role": (ns.SKOS + "Concept",), ns.SKOS + "OrderedCollection": (ns.SKOS + "Collection",)}


@cache
def read_vocabulary() -> Graph:
    """Return the whole vocabulary as one graph; do not change it."""
    graph = Graph()
    for path in sorted(VOCABULARY_FOLDER.glob("*.ttl")):
        graph.parse(path, format="turtle")
    return graph


@cache
def get_standard_types() -> dict[str, frozenset[str]]:
    """Return our class -> the classes of others that it is a subclass of, all as N-Triples text."""
    found: dict[str, frozenset[str]] = {}
    graph = read_vocabulary()
    for child in set(graph.subjects(RDFS.subClassOf, None)):
        parents = {str(parent) for parent in graph.objects(child, RDFS.subClassOf) if isinstance(parent, URIRef)}
        for parent in list(parents):
            parents.update(_ABOVE.get(parent, ()))
        others = {ns.iri_term(parent) for parent in parents if not parent.startswith(ns.NW)}
        found[ns.iri_term(str(child))] = frozenset(others)
    return found


@cache
def get_terms() -> frozenset[str]:
    """Return every term of our own namespace that the vocabulary describes, as N-Triples text."""
    subjects = set(read_vocabulary().subjects(RDFS.label, None))
    return frozenset(ns.iri_term(str(term)) for term in subjects if str(term).startswith(ns.NW))


@cache
def get_meanings() -> dict[str, tuple[str, str]]:
    """Return IRI -> label and comment of every term described; of a term of others, how it is used here."""
    graph = read_vocabulary()
    usage = URIRef(ns.NW + "usage")
    subjects = {*graph.subjects(RDFS.comment, None), *graph.subjects(usage, None)}
    return {
        str(subject): (
            str(graph.value(subject, RDFS.label) or ""),
            str(graph.value(subject, RDFS.comment) or graph.value(subject, usage)),
        )
        for subject in subjects
    }
