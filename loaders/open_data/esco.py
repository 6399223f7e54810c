"""ESCO: occupations as roles, the skill pillar as competencies, relations as requirements.

Source: the ESCO classification, CSV edition (European Commission, reuse with attribution under Decision 2011/833/EU).
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from loaders.open_data.esco_files import (
    CODE,
    ISCO,
    ISCO_GROUPS,
    LABEL,
    OCCUPATIONS,
    RELATIONS,
    URI,
    EscoFiles,
    is_esco,
)
from loaders.open_data.esco_skills import (
    SCALE_LEVELS,
    Concept,
    build_competencies,
    check_skill_relations,
    read_broader_links,
    read_concepts,
)
from loaders.open_data.esco_texts import iterate_translations
from loaders.open_data.faults import Faults, Progress, is_iri
from loaders.report import Loaded
from ontology.model.columns import ID_PATTERN
from ontology.model.framework_tables import ROLES
from ontology.model.records import Requirement, Role

__all__ = ["ATTRIBUTION", "is_esco", "load_esco"]

ATTRIBUTION: Final = "classification of the European Commission, used under Decision 2011/833/EU"

_NECESSITIES: Final = {"essential": "essential", "optional": "desirable"}
_DEFAULT_WEIGHT: Final = 3.0


def load_esco(path: Path, progress: Progress | None = None) -> Loaded:
    """Load the ESCO classification.

    Parameters
    ----------
    path : Path
        A folder that holds the two official zip containers (classification, and one language) or the CSV files out
        of them, or one container with all of them. Nothing is unpacked to disk. English where several languages are;
        the others are translations.
    progress : callable, optional
        Called with (file, rows done, rows in all).

    Returns
    -------
    Loaded
        Roles (id: the occupation's code; family: its ISCO group), competencies (id: the last part of the official
        IRI), a scale of one level, requirements (essential or desirable, level 1). The official IRI of both is kept
        as exact match. Rows with an error finding are left out.

    Raises
    ------
    FileFormatError
        A file or a column of it is missing, or a file is damaged.
    LimitError
        A file would unpack to too much.

    Notes
    -----
    O(n) time and memory for n rows.
    """
    faults = Faults()
    with EscoFiles(path) as files:
        concepts = read_concepts(files, faults, progress)
        read_broader_links(files, concepts, faults, progress)
        check_skill_relations(files, concepts, faults)
        roles = _read_roles(files, faults, progress)
        requirements = _read_requirements(files, roles, concepts, faults, progress)
        translations = list(iterate_translations(files, roles, concepts, faults))
        label = f"ESCO {files.version} ({files.language}), {ATTRIBUTION}".replace("  ", " ").replace(" ()", "")
    return Loaded(
        records={
            "scales": list(SCALE_LEVELS),
            "competencies": list(build_competencies(concepts)),
            "roles": list(roles.values()),
            "requirements": list(requirements),
            **({"translations": translations} if translations else {}),
        },
        extra=[],
        findings=faults.findings,
        label=label,
    )


def _read_roles(files: EscoFiles, faults: Faults, progress: Progress | None) -> dict[str, Role]:
    """Return official IRI -> role."""
    families = {code.strip(): label.strip() for _, (code, label) in files.read(ISCO_GROUPS).iterate(faults)}
    roles: dict[str, Role] = {}
    codes: set[str] = set()
    table = files.read(OCCUPATIONS)
    for row, cells in table.iterate(faults, progress):
        uri, code, label, group, description = (cell.strip() for cell in cells)
        if not ID_PATTERN.fullmatch(code):
            faults.add_error(table.file, row, CODE, code, "A code is digits and dots, like 2511.4.")
        elif code in codes:
            faults.add_error(table.file, row, CODE, code, "Another occupation has this code: duplicate key.")
        elif not is_iri(uri):
            faults.add_error(table.file, row, URI, uri, "An occupation has an IRI.")
        elif uri in roles:
            faults.add_error(table.file, row, URI, uri, "The occupation is here twice: duplicate key.")
        elif not label:
            faults.add_error(table.file, row, LABEL, "", "An occupation needs a preferred label.")
        else:
            family = families.get(group, "")
            if not family:
                faults.add_remark(table.file, row, ISCO, group, "There is no such ISCO group: its code is the family.")
            codes.add(code)
            roles[uri] = ROLES.build(
                id=code, label=label, family=family or group, definition=description, exact_match=(uri,)
            )
    return roles


def _read_requirements(
    files: EscoFiles,
    roles: Mapping[str, Role],
    concepts: Mapping[str, Concept],
    faults: Faults,
    progress: Progress | None,
) -> list[Requirement]:
    table = files.read(RELATIONS)
    role_ids = {uri: role.id for uri, role in roles.items()}
    concept_ids = {uri: concept.id for uri, concept in concepts.items()}
    requirements: list[Requirement] = []
    seen: set[tuple[str, str]] = set()
    for row, (occupation_uri, relation, skill_uri) in table.iterate(faults, progress):
        role, competency = role_ids.get(occupation_uri), concept_ids.get(skill_uri)
        necessity = _NECESSITIES.get(relation)
        if role is None or competency is None or necessity is None:
            if role is None:
                faults.add_error(table.file, row, "occupationUri", occupation_uri, "There is no such occupation.")
            if competency is None:
                faults.add_error(table.file, row, "skillUri", skill_uri, "There is no such skill or group.")
            if necessity is None:
                faults.add_error(table.file, row, "relationType", relation, "A relation is essential or optional.")
            continue
        pair = (role, competency)
        if pair in seen:
            reason = "The occupation and the skill are related in an earlier row: duplicate key."
            faults.add_error(table.file, row, "skillUri", skill_uri, reason)
            continue
        seen.add(pair)
        # built by position: 123,788 rows
        requirements.append(Requirement(role, competency, 1, 1, 1, _DEFAULT_WEIGHT, necessity, None, None, ""))
    return requirements
