"""ESCO in further languages: labels, other names and descriptions as translations, from one file for each language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loaders.open_data.esco_files import ISCO_GROUPS, OCCUPATIONS, SKILL_GROUPS, SKILLS, URI, EscoFiles
from loaders.open_data.esco_skills import Concept
from loaders.open_data.faults import Faults
from ontology.model.keeping_records import Translation
from ontology.model.records import Role
from ontology.model.several import join_values

__all__ = ["iterate_translations"]


def iterate_translations(
    files: EscoFiles, roles: Mapping[str, Role], concepts: Mapping[str, Concept], faults: Faults
) -> Iterator[Translation]:
    """Yield what each other language of a folder says of roles and competencies that were read (official IRI -> each).

    A row of something else is a remark; what a language leaves out is not translated. O(rows of its files).
    """
    for language in files.list_languages():
        for stem in (SKILLS, SKILL_GROUPS):
            yield from _iterate_concepts(files, stem, language, concepts, faults)
        yield from _iterate_roles(files, language, roles, faults)
        yield from _iterate_families(files, language, roles, faults)


def _iterate_concepts(
    files: EscoFiles, stem: str, language: str, concepts: Mapping[str, Concept], faults: Faults
) -> Iterator[Translation]:
    for uri, cells in _iterate_rows(files, stem, language, faults, concepts):
        label, alternatives, definition = cells[-3:]
        # SKOS S13: preferred and alternative labels are disjoint, in each language
        others = {text for line in alternatives.split("\n") if (text := line.strip())} - {label}
        for column, text in (("label", label), ("definition", definition), ("alt_labels", join_values(sorted(others)))):
            if text:
                yield Translation("competencies", concepts[uri].id, column, language, text)


def _iterate_roles(files: EscoFiles, language: str, roles: Mapping[str, Role], faults: Faults) -> Iterator[Translation]:
    for uri, cells in _iterate_rows(files, OCCUPATIONS, language, faults, roles):
        for column, text in (("label", cells[2]), ("definition", cells[4])):
            if text:
                yield Translation("roles", roles[uri].id, column, language, text)


def _iterate_families(
    files: EscoFiles, language: str, roles: Mapping[str, Role], faults: Faults
) -> Iterator[Translation]:
    """Yield the families of roles: the labels of their groups."""
    if not files.has(ISCO_GROUPS, language):
        return
    labels = {code.strip(): label.strip() for _, (code, label) in files.read(ISCO_GROUPS, language).iterate(faults)}
    # what is wrong with these rows was told when the roles were read
    for _, cells in files.read(OCCUPATIONS).iterate(Faults()):
        role, label = roles.get(cells[0].strip()), labels.get(cells[3].strip(), "")
        if role is not None and label:
            yield Translation("roles", role.id, "family", language, label)


def _iterate_rows(
    files: EscoFiles, stem: str, language: str, faults: Faults, known: Mapping[str, object]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield official IRI and cells of the rows that say something of what was read, each once."""
    if not files.has(stem, language):
        return
    table, seen = files.read(stem, language), set[str]()
    for row, cells in table.iterate(faults):
        uri = cells[0].strip()
        if uri in seen:
            faults.add_remark(table.file, row, URI, uri, "It is here twice: the first row is taken.")
        elif uri not in known:
            faults.add_remark(table.file, row, URI, uri, "The main language has no such row: left out.")
        else:
            seen.add(uri)
            yield uri, tuple(cell.strip() for cell in cells)
