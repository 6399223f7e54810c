"""The framework as a dataset that catalogues list: where it can be had, under which terms, and what is in it.

DCAT Version 3 (W3C Recommendation, 22 August 2024) and VoID (W3C Interest Group Note, 3 March 2011).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from loaders.open_standards.edition import Edition, Export, Statements
from ontology.mapping.statement_counts import StatementCounts
from ontology.model.framework_itself import THIS
from ontology.rdf import namespaces as ns

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
    edition: Edition, counts: StatementCounts, distributions: Iterable[Distribution], endpoint: str
) -> Export:
    """Return the description of the dataset that the framework and the offers are.

    Parameters
    ----------
    counts : StatementCounts
        Of its statements, as they are exported.
    distributions : where they can be had
    endpoint : str
        The address that answers SPARQL queries.
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
    said.add_translations(edition, DATASET, "framework", THIS, description=ns.DCTERMS + "description")
    said.add_text(DATASET, ns.DCTERMS + "language", *edition.languages, tagged=False)
    said.add_address(DATASET, ns.DCTERMS + "license", about.licence)
    said.add_address(DATASET, ns.DCAT + "landingPage", about.homepage)
    said.add_text(DATASET, ns.DCAT + "version", edition.version, tagged=False)
    said.add(DATASET, ns.DCTERMS + "modified", ns.typed_term(edition.stamp, "dateTime"))
    said.add_iri(DATASET, ns.VOID + "vocabulary", *_find_vocabularies(counts))
    said.add_iri(DATASET, ns.VOID + "sparqlEndpoint", endpoint)
    for one in distributions:
        _describe_distribution(said, edition, one)
    _count(said, counts)
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


def _find_vocabularies(counts: StatementCounts) -> list[str]:
    terms = (*counts.properties, *counts.classes)
    return [start for start in _VOCABULARIES if any(term.startswith(f"<{start}") for term in terms)]


def _count(said: Statements, counts: StatementCounts) -> None:
    _add_number(said, DATASET, "triples", counts.triples)
    _add_number(said, DATASET, "distinctSubjects", counts.subjects)
    _add_number(said, DATASET, "classes", len(counts.classes))
    _add_number(said, DATASET, "properties", len(counts.properties))
    for term, n in counts.classes.items():
        _add_number(said, _add_part(said, "classPartition", "class", term), "entities", n)
    for term, n in counts.properties.items():
        _add_number(said, _add_part(said, "propertyPartition", "property", term), "triples", n)


def _add_part(said: Statements, kind: str, of: str, term: str) -> str:
    part = ns.record_iri("partition", of, term[1:-1])
    said.add_iri(DATASET, ns.VOID + kind, part)
    said.add(part, ns.VOID + of, term)
    return part


def _add_number(said: Statements, node: str, name: str, number: int) -> None:
    said.add(node, ns.VOID + name, ns.typed_term(str(number), "integer"))
