"""The ESCO skill pillar as competencies: skills, knowledge and their groups.

One level only: ESCO says that an occupation needs a skill, not how well it must be mastered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from loaders.open_data.esco_files import (
    ALT_LABELS,
    BROADER,
    BROADER_LINKS,
    LABEL,
    SKILL_GROUPS,
    SKILL_RELATIONS,
    SKILL_TYPE,
    SKILLS,
    URI,
    EscoFiles,
)
from loaders.open_data.faults import Faults, Progress, is_iri
from ontology.model.columns import ID_PATTERN
from ontology.model.framework_tables import COMPETENCIES
from ontology.model.records import Competency, ScaleLevel

SCALE: Final = "esco"
SCALE_LEVELS: Final = (
    ScaleLevel(
        SCALE, 1, "Able", "Can do or knows what the concept describes; how well is not told apart on this scale."
    ),
)

_KINDS: Final = {"knowledge": "knowledge", "skill/competence": "skill"}
_FIELDS_OF_EDUCATION: Final = "isced-f"


@dataclass(slots=True)
class Concept:
    """One concept of the skill pillar while it is read. `kind` is empty for a group until its parts are known."""

    id: str
    uri: str
    label: str
    kind: str
    definition: str
    alt_labels: tuple[str, ...]
    broader: list[str]


def get_concept_id(uri: str) -> str:
    """Return the id of a concept: the last part of its official IRI (a UUID); fields of education say what they are.

    Examples
    --------
    >>> get_concept_id("isced-f/0613")
    'isced-f-0613'
    """
    head, _, tail = uri.rpartition("/")
    return f"{_FIELDS_OF_EDUCATION}-{tail}" if head.endswith(_FIELDS_OF_EDUCATION) else tail


def read_concepts(files: EscoFiles, faults: Faults, progress: Progress | None = None) -> dict[str, Concept]:
    """Return official IRI -> concept, for skills, knowledge and groups."""
    concepts: dict[str, Concept] = {}
    ids: set[str] = set()
    for stem in (SKILLS, SKILL_GROUPS):
        table = files.read(stem)
        repeated = 0
        for row, cells in table.iterate(faults, progress):
            uri, kind = cells[0].strip(), ""
            if stem == SKILLS:
                kind = _read_kind(table.file, row, cells[1].strip(), faults)
                if not kind:
                    continue
            label, alternatives, definition = (cell.strip() for cell in cells[-3:])
            concept_id = get_concept_id(uri)
            if not _is_sound(table.file, row, uri, concept_id, label, uri in concepts or concept_id in ids, faults):
                continue
            others = tuple(dict.fromkeys(text for line in alternatives.split("\n") if (text := line.strip())))
            # SKOS S13: preferred and alternative labels are disjoint
            alt_labels = tuple(text for text in others if text != label)
            repeated += len(alt_labels) < len(others)
            ids.add(concept_id)
            concepts[uri] = Concept(concept_id, uri, label, kind, definition, alt_labels, [])
        if repeated:
            reason = f"{repeated} concepts repeat their preferred label among the others (SKOS S13): left out there."
            faults.add_remark(table.file, 0, ALT_LABELS, "", reason)
    return concepts


def _read_kind(file: str, row: int, skill_type: str, faults: Faults) -> str:
    if not skill_type:
        faults.add_remark(file, row, SKILL_TYPE, "", "The type is blank: read as a skill.")
        return "skill"
    kind = _KINDS.get(skill_type, "")
    if not kind:
        faults.add_error(file, row, SKILL_TYPE, skill_type, f"The type is {' or '.join(sorted(_KINDS))}.")
    return kind


def _is_sound(file: str, row: int, uri: str, concept_id: str, label: str, is_duplicate: bool, faults: Faults) -> bool:
    if not is_iri(uri) or not ID_PATTERN.fullmatch(concept_id):
        faults.add_error(file, row, URI, uri, "A concept has an IRI that ends in its id.")
    elif is_duplicate:
        faults.add_error(file, row, URI, uri, "The concept is here twice: duplicate key.")
    elif not label:
        faults.add_error(file, row, LABEL, "", "A concept needs a preferred label.")
    else:
        return True
    return False


def read_broader_links(
    files: EscoFiles, concepts: Mapping[str, Concept], faults: Faults, progress: Progress | None = None
) -> None:
    """Fill in what is broader than each concept (several parents are usual)."""
    table = files.read(BROADER_LINKS)
    for row, (uri, broader_uri) in table.iterate(faults, progress):
        concept, broader = concepts.get(uri), concepts.get(broader_uri)
        if concept is None:
            faults.add_error(table.file, row, URI, uri, "There is no such skill or group.")
        if broader is None:
            faults.add_error(table.file, row, BROADER, broader_uri, "There is no such skill or group.")
        if concept is None or broader is None:
            continue
        if concept is broader:
            faults.add_remark(table.file, row, BROADER, uri, "A concept cannot be broader than itself: not kept.")
        elif broader.id in concept.broader:
            faults.add_error(table.file, row, BROADER, broader_uri, "The link is here twice: duplicate key.")
        else:
            concept.broader.append(broader.id)


def check_skill_relations(files: EscoFiles, concepts: Mapping[str, Concept], faults: Faults) -> None:
    """Check the relations between skills; they are not kept, because a competency has no such column."""
    table = files.read(SKILL_RELATIONS)
    for row, (uri, related_uri) in table.iterate(faults):
        for column, value in (("originalSkillUri", uri), ("relatedSkillUri", related_uri)):
            if value not in concepts:
                faults.add_error(table.file, row, column, value, "There is no such skill or group.")
        if uri == related_uri:
            faults.add_remark(table.file, row, "relatedSkillUri", uri, "The skill is related to itself: no meaning.")
    if table.rows:
        reason = f"{len(table.rows)} relations between skills are checked, not stored."
        faults.add_remark(table.file, 0, "", "", reason)


def build_competencies(concepts: Mapping[str, Concept]) -> list[Competency]:
    """Return the concepts as competencies, in the order of the files.

    A group is knowledge when it is a field of education or, like the group above those, has only such groups and
    knowledge below it; else it is a skill.
    """
    kinds = _get_group_kinds(concepts)
    return [
        COMPETENCIES.build(
            id=concept.id,
            label=concept.label,
            scale=SCALE,
            definition=concept.definition,
            broader=tuple(concept.broader),
            kind=concept.kind or kinds[concept.id],
            alt_labels=concept.alt_labels,
            exact_match=(concept.uri,),
        )
        for concept in concepts.values()
    ]


def _get_group_kinds(concepts: Mapping[str, Concept]) -> dict[str, str]:
    """Return group id -> kind."""
    groups = {concept.id: concept for concept in concepts.values() if not concept.kind}
    children: dict[str, list[Concept]] = {group_id: [] for group_id in groups}
    for concept in concepts.values():
        for parent in concept.broader:
            if parent in children:
                children[parent].append(concept)
    kinds: dict[str, str] = {}
    for group_id in groups:
        is_field = group_id.startswith(_FIELDS_OF_EDUCATION)
        below = children[group_id]
        fields_below = below and all(
            child.kind == "knowledge" or child.id.startswith(_FIELDS_OF_EDUCATION) for child in below
        )
        kinds[group_id] = "knowledge" if is_field or fields_below else "skill"
    return kinds
