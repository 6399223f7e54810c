"""The framework in terms of SKOS and Dublin Core alone, for tools that know nothing of ours.

SKOS Reference (W3C Recommendation, 18 August 2009). Competencies and levels are concepts of one scheme, roles of
another; the levels of a scale are an ordered collection. A competency points to its scale by dcterms:relation.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from loaders.open_standards.edition import Edition, Export, Statements, count_left_out
from ontology.mapping.writer import build_scale_quads
from ontology.model.framework_itself import THIS
from ontology.model.mapping_tables import ACCEPTED
from ontology.model.records import Competency
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ROLES_SCHEME", "SCHEME", "build_skos"]

SCHEME: Final = ns.record_iri("framework", THIS)
ROLES_SCHEME: Final = ns.record_iri("scheme", "roles")
_TYPE: Final = ns.RDF + "type"
#: Column -> the property that says it in other languages.
_TEXTS: Final = {
    "label": ns.SKOS + "prefLabel",
    "definition": ns.SKOS + "definition",
    "description": ns.SKOS + "definition",
    "alt_labels": ns.SKOS + "altLabel",
}
#: Relations of mappings that have a property of their own; exact ones stand among the exact matches.
_MAPPED: Final = ("close", "broad", "narrow", "related")


def build_skos(edition: Edition) -> Export:
    """Return the framework as a concept scheme. O(records)."""
    snapshot, said = edition.snapshot, Statements(edition.language)
    _describe_schemes(said, edition)
    for levels in snapshot.scales.values():
        _describe_scale(said, edition, levels[0].scale, levels)
    for competency in snapshot.get_all("competencies").values():
        _describe_competency(said, edition, competency)
    for role in snapshot.get_all("roles").values():
        node = _describe(said, edition, "roles", role.id, ROLES_SCHEME, role.label, role.definition)
        said.add_iri(node, ns.SKOS + "exactMatch", *role.exact_match)
        if not _describe_end(said, snapshot, "roles", role):
            _put_on_top(said, ROLES_SCHEME, node)
    return Export(said.finish(), count_left_out(_list_left_out(snapshot)))


def _describe_schemes(said: Statements, edition: Edition) -> None:
    about = edition.framework
    for scheme, title in ((SCHEME, about.title), (ROLES_SCHEME, f"{about.title}: roles")):
        said.add_iri(scheme, _TYPE, ns.SKOS + "ConceptScheme")
        said.add_text(scheme, ns.DCTERMS + "title", title)
    said.add_text(SCHEME, ns.DCTERMS + "description", about.description)
    said.add_translations(edition, SCHEME, "framework", THIS, description=ns.DCTERMS + "description")
    for name, text in (("creator", about.creator), ("publisher", about.publisher)):
        said.add_text(SCHEME, ns.DCTERMS + name, text, tagged=False)
    said.add_text(SCHEME, ns.DCTERMS + "language", *edition.languages, tagged=False)
    said.add_text(SCHEME, ns.DCTERMS + "hasVersion", edition.version, tagged=False)
    said.add_address(SCHEME, ns.DCTERMS + "license", about.licence)
    said.add_address(SCHEME, ns.DCTERMS + "source", about.homepage)
    said.add(SCHEME, ns.DCTERMS + "modified", ns.typed_term(edition.stamp, "dateTime"))


def _describe_scale(said: Statements, edition: Edition, scale: str, levels: Any) -> None:
    node = ns.record_iri("scale", scale)
    for _, subject, predicate, term in build_scale_quads(scale, levels):
        if term != ns.iri_term(ns.NW + "Scale"):
            said.add(subject[1:-1], predicate[1:-1], term)
    said.add_text(node, ns.SKOS + "prefLabel", scale)
    for level in levels:
        iri = TABLES["scales"].get_iri(level)
        said.add_iri(iri, _TYPE, ns.SKOS + "Concept")
        said.add_iri(iri, ns.SKOS + "inScheme", SCHEME)
        said.add_text(iri, ns.SKOS + "prefLabel", level.label)
        said.add_text(iri, ns.SKOS + "definition", level.description)
        said.add_text(iri, ns.SKOS + "notation", str(level.rank), tagged=False)
        said.add_translations(edition, iri, "scales", f"{scale}~{level.rank}", **_TEXTS)


def _describe_competency(said: Statements, edition: Edition, record: Competency) -> None:
    snapshot = edition.snapshot
    node = _describe(said, edition, "competencies", record.id, SCHEME, record.label, record.definition)
    said.add_text(node, ns.SKOS + "altLabel", *record.alt_labels)
    said.add_iri(node, ns.SKOS + "exactMatch", *record.exact_match)
    for row in snapshot.get_mappings(record.id):
        if row.status == ACCEPTED and row.relation in _MAPPED:
            said.add_iri(node, f"{ns.SKOS}{row.relation}Match", row.target)
    said.add_iri(node, ns.DCTERMS + "relation", ns.record_iri("scale", record.scale))
    for wider in record.broader:
        above = ns.record_iri("competency", wider)
        said.add_iri(node, ns.SKOS + "broader", above)
        said.add_iri(above, ns.SKOS + "narrower", node)
    if not _describe_end(said, snapshot, "competencies", record) and not record.broader:
        _put_on_top(said, SCHEME, node)


def _describe(
    said: Statements, edition: Edition, table: str, record_id: str, scheme: str, label: str, definition: str
) -> str:
    node = ns.record_iri(TABLES[table].segment, record_id)
    said.add_iri(node, _TYPE, ns.SKOS + "Concept")
    said.add_iri(node, ns.SKOS + "inScheme", scheme)
    said.add_text(node, ns.DCTERMS + "identifier", record_id, tagged=False)
    said.add_text(node, ns.SKOS + "prefLabel", label)
    said.add_text(node, ns.SKOS + "definition", definition)
    said.add_translations(edition, node, table, record_id, **_TEXTS)
    return node


def _describe_end(said: Statements, snapshot: Snapshot, table: str, record: Any) -> bool:
    """Say of a retired record that it is, and what took its place; return whether it is retired."""
    if record.retired_on is None:
        return False
    segment = TABLES[table].segment
    node = ns.record_iri(segment, record.id)
    said.add(node, ns.OWL + "deprecated", ns.typed_term("true", "boolean"))
    for row in snapshot.get_replacements((table, record.id)):
        said.add_iri(node, ns.DCTERMS + "isReplacedBy", ns.record_iri(segment, row.new))
    return True


def _put_on_top(said: Statements, scheme: str, node: str) -> None:
    said.add_iri(scheme, ns.SKOS + "hasTopConcept", node)
    said.add_iri(node, ns.SKOS + "topConceptOf", scheme)


def _list_left_out(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    competencies = snapshot.get_all("competencies").values()
    for name in ("requirements", "courses", "outcomes", "entry_conditions", "equivalences"):
        yield name.replace("_", " "), snapshot.get_all(name)
    mapped = snapshot.get_table("mappings").values()
    yield (
        "mappings that say what is different",
        (row for row in mapped if row.relation == "different" or row.status != ACCEPTED),
    )
    yield "kinds of competencies", competencies
    yield "validities", (one for one in competencies if one.validity_months is not None)
    yield "safety marks", (one for one in competencies if one.safety)
    yield "families of roles", (one for one in snapshot.get_all("roles").values() if one.family)
