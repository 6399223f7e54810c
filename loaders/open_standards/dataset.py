"""The framework as a dataset that catalogues list: where it can be had, under which terms, and what is in it.

DCAT Version 3 (W3C Recommendation, 22 August 2024) and VoID (W3C Interest Group Note, 3 March 2011).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from loaders.open_standards.edition import Edition, Export, Statements
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad

__all__ = ["DATASET", "Distribution", "build_dataset"]

DATASET: Final = ns.record_iri("dataset", "framework")
_PUBLISHER: Final = ns.record_iri("agent", "publisher")
_CREATOR: Final = ns.record_iri("agent", "creator")
_TYPE: Final = ns.RDF + "type"
#: Vocabularies whose terms may stand in it.
_VOCABULARIES: Final = (ns.NW, ns.SKOS, ns.DCTERMS, ns.ORG, ns.SCHEMA, ns.OWL)


@dataclass(frozen=True, slots=True)
class Distribution:
    """One way to have it: its name, where, and as what media type; `holds_all`: every statement that is counted."""

    name: str
    title: str
    address: str
    media_type: str
    holds_all: bool = False


def build_dataset(
    edition: Edition, quads: Collection[Quad], distributions: Iterable[Distribution], endpoint: str
) -> Export:
    """Return the description of the dataset that some statements are.

    Parameters
    ----------
    edition : Edition
    quads : the statements of the framework and the offers, as they are exported, each once
    distributions : where they can be had
    endpoint : str
        The address that answers SPARQL queries.

    Notes
    -----
    O(n) for n statements. `void:triples` of the whole is n; the partitions count what they name.
    """
    said, about = Statements(edition.language), edition.framework
    said.add_iri(DATASET, _TYPE, ns.DCAT + "Dataset", ns.VOID + "Dataset")
    said.add_text(DATASET, ns.DCTERMS + "title", about.title)
    said.add_text(DATASET, ns.DCTERMS + "description", about.description)
    for node, name, text in ((_CREATOR, "creator", about.creator), (_PUBLISHER, "publisher", about.publisher)):
        if text:
            said.add_iri(DATASET, ns.DCTERMS + name, node)
            said.add_iri(node, _TYPE, ns.FOAF + "Agent")
            said.add_text(node, ns.FOAF + "name", text, tagged=False)
    said.add_text(DATASET, ns.DCTERMS + "language", edition.language, tagged=False)
    said.add_address(DATASET, ns.DCTERMS + "license", about.licence)
    said.add_address(DATASET, ns.DCAT + "landingPage", about.homepage)
    said.add_text(DATASET, ns.DCAT + "version", edition.version, tagged=False)
    said.add(DATASET, ns.DCTERMS + "modified", ns.typed_term(edition.stamp, "dateTime"))
    said.add_iri(DATASET, ns.VOID + "vocabulary", *_find_vocabularies(quads))
    said.add_iri(DATASET, ns.VOID + "sparqlEndpoint", endpoint)
    for one in distributions:
        _describe_distribution(said, edition, one)
    _count(said, quads)
    return Export(said.finish())


def _describe_distribution(said: Statements, edition: Edition, one: Distribution) -> None:
    node = ns.record_iri("distribution", one.name)
    said.add_iri(DATASET, ns.DCAT + "distribution", node)
    said.add_iri(node, _TYPE, ns.DCAT + "Distribution")
    said.add_text(node, ns.DCTERMS + "title", one.title)
    said.add_iri(node, ns.DCAT + "accessURL", one.address)
    said.add_iri(node, ns.DCAT + "downloadURL", one.address)
    said.add_iri(node, ns.DCAT + "mediaType", ns.MEDIA_TYPES + one.media_type)
    said.add_address(node, ns.DCTERMS + "license", edition.framework.licence)
    if one.holds_all:
        said.add_iri(DATASET, ns.VOID + "dataDump", one.address)


def _find_vocabularies(quads: Iterable[Quad]) -> list[str]:
    terms = {term for _, _, p, o in quads for term in ((p, o) if p == ns.RDF_TYPE else (p,))}
    return [start for start in _VOCABULARIES if any(term.startswith(f"<{start}") for term in terms)]


def _count(said: Statements, quads: Collection[Quad]) -> None:
    classes, properties = Counter(o for _, _, p, o in quads if p == ns.RDF_TYPE), Counter(p for _, _, p, _ in quads)
    subjects: defaultdict[str, set[str]] = defaultdict(set)
    for _, s, p, _ in quads:
        subjects[p].add(s)
    _add_number(said, DATASET, "triples", len(quads))
    _add_number(said, DATASET, "distinctSubjects", len({s for _, s, _, _ in quads}))
    _add_number(said, DATASET, "classes", len(classes))
    _add_number(said, DATASET, "properties", len(properties))
    for term, n in classes.items():
        part = _add_part(said, "classPartition", "class", term)
        _add_number(said, part, "entities", n)
    for term, n in properties.items():
        part = _add_part(said, "propertyPartition", "property", term)
        _add_number(said, part, "triples", n)
        _add_number(said, part, "distinctSubjects", len(subjects[term]))


def _add_part(said: Statements, kind: str, of: str, term: str) -> str:
    part = ns.record_iri("partition", of, term[1:-1])
    said.add_iri(DATASET, ns.VOID + kind, part)
    said.add(part, ns.VOID + of, term)
    return part


def _add_number(said: Statements, node: str, name: str, number: int) -> None:
    said.add(node, ns.VOID + name, ns.typed_term(str(number), "integer"))
