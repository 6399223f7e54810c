"""The framework in terms of schema.org, for search engines and catalogues: terms, courses, occupations, certificates.

Types and properties as schema.org defines them: DefinedTermSet, DefinedTerm, Course, Occupation,
EducationalOccupationalCredential. `proficiencyLevel` there speaks of content, so levels stay out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from loaders.open_standards.edition import Edition, Export, Statements, count_left_out
from ontology.model.framework_itself import THIS
from ontology.model.records import Competency, Course, Role
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_schema_org", "format_hours"]

SET: Final = ns.record_iri("framework", THIS)
_TYPE: Final = ns.RDF + "type"
#: Column -> the property that says it in other languages.
_TEXTS: Final = {
    "label": ns.SCHEMA + "name",
    "definition": ns.SCHEMA + "description",
    "description": ns.SCHEMA + "description",
    "alt_labels": ns.SCHEMA + "alternateName",
    "family": ns.SCHEMA + "occupationalCategory",
}


def format_hours(hours: float) -> str:
    """Return hours as a duration (ISO 8601), in hours and whole minutes.

    Examples
    --------
    >>> format_hours(8), format_hours(1.5), format_hours(0.25), format_hours(0)
    ('PT8H', 'PT1H30M', 'PT15M', 'PT0H')
    """
    whole, minutes = divmod(round(hours * 60), 60)
    return "PT" + (f"{whole}H" if whole or not minutes else "") + (f"{minutes}M" if minutes else "")


def build_schema_org(edition: Edition) -> Export:
    """Return the framework as a set of defined terms, with its courses and occupations. O(records)."""
    snapshot, said = edition.snapshot, Statements(edition.language)
    about = edition.framework
    said.add_iri(SET, _TYPE, ns.SCHEMA + "DefinedTermSet")
    _add(said, SET, name=about.title, description=about.description)
    said.add_translations(edition, SET, "framework", THIS, **_TEXTS)
    said.add_text(SET, ns.SCHEMA + "inLanguage", *edition.languages, tagged=False)
    _add(said, SET, version=edition.version, dateModified=edition.stamp, creditText=about.creator)
    said.add_address(SET, ns.SCHEMA + "license", about.licence)
    said.add_address(SET, ns.SCHEMA + "url", about.homepage)
    for competency in snapshot.competencies.values():
        _describe_competency(said, competency)
        node = ns.record_iri("competency", competency.id)
        said.add_translations(edition, node, "competencies", competency.id, **_TEXTS)
    for course in snapshot.courses.values():
        _describe_course(said, snapshot, course)
        said.add_translations(edition, ns.record_iri("course", course.id), "courses", course.id, **_TEXTS)
    for role in snapshot.roles.values():
        _describe_role(said, snapshot, role)
        said.add_translations(edition, ns.record_iri("role", role.id), "roles", role.id, **_TEXTS)
    return Export(said.finish(), count_left_out(_list_left_out(snapshot)))


def _add(said: Statements, node: str, **texts: str) -> None:
    for name, text in texts.items():
        said.add_text(node, ns.SCHEMA + name, text, tagged=False)


def _describe_competency(said: Statements, record: Competency) -> None:
    node = ns.record_iri("competency", record.id)
    said.add_iri(node, _TYPE, ns.SCHEMA + "DefinedTerm")
    said.add_iri(node, ns.SCHEMA + "inDefinedTermSet", SET)
    said.add_iri(SET, ns.SCHEMA + "hasDefinedTerm", node)
    _add(said, node, termCode=record.id, name=record.label, description=record.definition)
    said.add_text(node, ns.SCHEMA + "alternateName", *record.alt_labels, tagged=False)
    said.add_iri(node, ns.SCHEMA + "sameAs", *record.exact_match)
    if record.is_certificate:
        said.add_iri(node, _TYPE, ns.SCHEMA + "EducationalOccupationalCredential")
        months = record.validity_months
        _add(said, node, validFor="" if months is None else f"P{months}M")


def _describe_course(said: Statements, snapshot: Snapshot, record: Course) -> None:
    node = ns.record_iri("course", record.id)
    said.add_iri(node, _TYPE, ns.SCHEMA + "Course")
    _add(said, node, courseCode=record.id, name=record.label, courseMode=record.method)
    _add(said, node, timeRequired=format_hours(record.hours))
    taught = [outcome.competency for outcome in snapshot.get_outcomes(record.id)]
    asked = [condition.competency for condition in snapshot.get_entry_conditions(record.id)]
    said.add_iri(node, ns.SCHEMA + "teaches", *(ns.record_iri("competency", one) for one in taught))
    said.add_iri(node, ns.SCHEMA + "coursePrerequisites", *(ns.record_iri("competency", one) for one in asked))


def _describe_role(said: Statements, snapshot: Snapshot, record: Role) -> None:
    node = ns.record_iri("role", record.id)
    said.add_iri(node, _TYPE, ns.SCHEMA + "Occupation")
    _add(said, node, identifier=record.id, name=record.label, description=record.definition)
    _add(said, node, occupationalCategory=record.family)
    said.add_iri(node, ns.SCHEMA + "sameAs", *record.exact_match)
    asked = [requirement.competency for requirement in snapshot.get_requirements(record.id)]
    said.add_iri(node, ns.SCHEMA + "skills", *(ns.record_iri("competency", one) for one in asked))


def _list_left_out(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    yield "levels of scales", snapshot.get_all("scales")
    for name in ("requirements", "outcomes", "entry_conditions"):
        yield f"levels of {name.replace('_', ' ')}", snapshot.get_table(name)
    yield "weights of requirements", snapshot.get_table("requirements")
    yield "links to broader competencies", (up for one in snapshot.competencies.values() for up in one.broader)
    yield "costs of courses", (one for one in snapshot.courses.values() if one.cost)
    yield "equivalences", snapshot.get_table("equivalences")
    for name in ("competencies", "roles", "courses"):
        yield f"retired {name}", snapshot.retired.get_table(name)
