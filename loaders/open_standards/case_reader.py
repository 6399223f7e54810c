"""A CASE 1.1 package back in: items as competencies and scales, associations as what they hang on.

What a package says that no table holds is counted in a remark each; nothing of it is guessed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from loaders.open_standards import case_names as case
from loaders.open_standards.case_package import CasePackage, Node, read_package
from loaders.open_standards.case_values import read_date, read_own
from loaders.report import Loaded
from loaders.tables.cells import make_printable
from ontology.errors import Finding
from ontology.model.columns import ID_PATTERN, LONGEST_ID
from ontology.model.framework_itself import MAIN_LANGUAGE, THIS
from ontology.model.keeping_records import Translation
from ontology.model.records import KINDS
from ontology.model.several import join_values
from ontology.model.tables import TABLES
from ontology.model.translated import find_translated_column
from ontology.rdf.literals import is_language_tag
from ontology.rdf.terms import is_safe_iri

__all__ = ["SOLE_SCALE", "load_case"]

#: A scale of one level, for items that say none.
SOLE_SCALE: Final = "met"
_SOLE_LEVEL: Final = "Met"
_READ: Final = frozenset({case.CHILD, case.EXACT, case.RELATED, case.REPLACED, case.LEVEL_OF, case.TRANSLATION})


def load_case(path: Path, scale: str = "") -> Loaded:
    """Load a CASE package without storing anything.

    Parameters
    ----------
    path : Path
        A JSON document with CFDocument, CFItems and CFAssociations.
    scale : str
        Id of the scale of items that hang on no level; "": one of a single level is made for them.

    Returns
    -------
    Loaded
        The framework's own row, scales, competencies, replacements. Ids are the human coding schemes where these are
        ids and each stands once, else the identifiers.

    Raises
    ------
    FileFormatError, LimitError
        It is no such document, or too large.

    Notes
    -----
    O(n) for n items and associations.
    """
    loaded = Loaded(label=make_printable(str(path)))
    package = read_package(path, loaded.findings)
    _Reader(package, loaded, scale).read()
    return loaded


class _Reader:
    """Turns the nodes of a package into records."""

    def __init__(self, package: CasePackage, loaded: Loaded, scale: str) -> None:
        self._package, self._loaded, self._scale = package, loaded, scale
        self._ranks: dict[str, int] = {}
        #: Item in another language -> what it says again.
        self._original = {
            origin.at: target
            for origin, target, _ in package.iterate(case.TRANSLATION)
            if origin is not None and target is not None and origin.at != target.at
        }
        self._levels = {
            *(node.at for node in package.items if node.kind == case.LEVEL.casefold()),
            *(target.at for _, target, _ in package.iterate(case.LEVEL_OF) if target is not None),
        }
        # a scale is what its levels are below
        self._levels -= self._original.keys()
        self._scale_of = {
            origin.at: target
            for origin, target, _ in package.iterate(case.CHILD)
            if origin is not None and target is not None and origin.at in self._levels
        }
        self._scales = {
            *(node.at for node in package.items if node.kind == case.SCALE.casefold()),
            *(node.at for node in self._scale_of.values()),
        } - self._original.keys()
        codes = Counter(node.code for node in package.items if node.at not in self._original)
        self._ids = {
            node.at: node.code if _is_id(node.code) and codes[node.code] == 1 else node.identifier
            for node in package.items
        }

    def read(self) -> None:
        self._read_document()
        self._add("scales", list(self._iterate_levels()))
        self._add(
            "competencies", [record for record in map(self._read_competency, self._list_competencies()) if record]
        )
        self._add("replacements", list(self._iterate_replacements()))
        self._add("mappings", list(self._iterate_related()))
        self._add("translations", list(self._iterate_translations()))
        self._remark_on_others()

    def _add(self, table: str, records: list[Any]) -> None:
        if records:
            self._loaded.records[table] = records

    def _read_document(self) -> None:
        node = self._package.document
        own = self._read_own("framework", node)
        values = {
            "title": node.get("title"),
            "description": node.get("description"),
            "publisher": node.get("publisher"),
            "creator": "" if own else node.get("creator"),
            "language": node.get("language").lower() or MAIN_LANGUAGE,
            "homepage": node.get("officialSourceURL"),
        }
        self._add("framework", [TABLES["framework"].build(**values | own | {"id": THIS})])

    def _iterate_levels(self) -> Iterator[Any]:
        counted: Counter[str] = Counter()
        numbers = {
            origin.at: number
            for origin, _, number in self._package.iterate(case.CHILD)
            if origin is not None and isinstance(number, int)
        }
        for node in self._package.items:
            above = self._scale_of.get(node.at)
            if node.at not in self._levels or above is None:
                continue
            scale = self._ids[above.at]
            counted[scale] += 1
            said = node.get("listEnumeration")
            rank = int(said) if said.isascii() and said.isdigit() else numbers.get(node.at, counted[scale])
            text = self._get_definition(node)
            self._ranks[node.at] = rank
            yield TABLES["scales"].build(scale=scale, rank=rank, label=node.label, description=text)
        if not self._scale and any(not self._find_scales(node) for node in self._list_competencies()):
            yield TABLES["scales"].build(scale=SOLE_SCALE, rank=1, label=_SOLE_LEVEL)

    def _list_competencies(self) -> list[Node]:
        apart = self._levels | self._scales | self._original.keys()
        return [node for node in self._package.items if node.at not in apart]

    def _iterate_translations(self) -> Iterator[Translation]:
        """Yield what items in other languages say: what stands in their extensions, else their statements."""
        main = self._package.document.get("language").lower() or MAIN_LANGUAGE
        for node in self._package.items:
            original, language = self._original.get(node.at), node.get("language").lower()
            if original is None or original.at in self._original or original.at in self._scales:
                continue
            if not is_language_tag(language) or language == main:
                self._find_fault(node, "language", language, "must be the tag of another language than the main one")
                continue
            table, key = "competencies", self._ids[original.at]
            if original.at in self._levels:
                above = self._scale_of.get(original.at)
                rank = self._ranks.get(original.at)
                if above is None or rank is None:
                    continue
                table, key = "scales", f"{self._ids[above.at]}~{rank}"
            for column, text in self._read_texts(table, node):
                yield Translation(table, key, column, language, text)

    def _read_texts(self, table: str, node: Node) -> Iterator[tuple[str, str]]:
        definition = "description" if table == "scales" else "definition"
        said: Mapping[str, Any] = node.own or {"label": node.label, definition: self._get_definition(node)}
        for name, value in said.items():
            text = join_values(value) if isinstance(value, list) and all(isinstance(v, str) for v in value) else value
            if find_translated_column(table, name) is not None and isinstance(text, str) and text.strip():
                yield name, text

    def _find_scales(self, node: Node) -> list[str]:
        """Return the scales on whose levels an item hangs."""
        above = (self._scale_of.get(target.at) for target in self._package.find(case.LEVEL_OF, node))
        return sorted({self._ids[one.at] for one in above if one is not None})

    def _read_competency(self, node: Node) -> Any | None:
        own = self._read_own("competencies", node)
        scales = self._find_scales(node)
        if len(scales) > 1:
            self._find_fault(
                node, case.LEVEL_OF, ", ".join(scales), "hangs on levels of several scales; one is possible"
            )
            return None
        ended = node.get("statusEndDate")
        retired_on = read_date(ended)
        if ended and retired_on is None:
            self._find_fault(node, "statusEndDate", ended, "is not a date as year-month-day")
            return None
        kind = node.kind if node.kind in KINDS else "skill"
        other = node.get("alternativeLabel")
        values = {
            "id": self._ids[node.at],
            "label": node.label,
            "scale": scales[0] if scales else self._scale or SOLE_SCALE,
            "definition": self._get_definition(node),
            "kind": kind,
            "broader": tuple(sorted({self._ids[one.at] for one in self._list_above(node)})),
            "alt_labels": (other,) if other and other != node.label else (),
            "exact_match": tuple(sorted(self._iterate_same(node))),
            "retired_on": retired_on,
        }
        return TABLES["competencies"].build(**values | own)

    def _list_above(self, node: Node) -> list[Node]:
        return [one for one in self._package.find(case.CHILD, node) if one.at not in self._levels | self._scales]

    def _iterate_same(self, node: Node) -> Iterator[str]:
        for uri in self._package.find_addresses(case.EXACT, node):
            if is_safe_iri(uri):
                yield uri

    def _iterate_related(self) -> Iterator[Any]:
        """Yield a mapping for what a competency is related to that is not in the package."""
        for node in self._list_competencies():
            for uri in sorted(set(self._package.find_addresses(case.RELATED, node))):
                if is_safe_iri(uri):
                    yield TABLES["mappings"].build(competency=self._ids[node.at], target=uri, relation="related")

    def _iterate_replacements(self) -> Iterator[Any]:
        competencies = {node.at for node in self._list_competencies()}
        for origin, target, own in self._package.iterate_own(case.REPLACED):
            if origin is None or target is None or not {origin.at, target.at} <= competencies:
                continue
            values = {"table": "competencies", "old": self._ids[origin.at], "new": self._ids[target.at]}
            found, faults = read_own(TABLES["replacements"], own)
            self._loaded.findings += [
                Finding("error", self._loaded.label, 0, column, value, reason) for column, value, reason in faults
            ]
            yield TABLES["replacements"].build(**found | values)

    def _get_definition(self, node: Node) -> str:
        told = node.own.get("definition")
        return told if isinstance(told, str) else node.statement if node.statement != node.label else ""

    def _read_own(self, table: str, node: Node) -> dict[str, Any]:
        values, faults = read_own(TABLES[table], node.own)
        for column, value, reason in faults:
            self._find_fault(node, column, value, reason)
        return values

    def _find_fault(self, node: Node, member: str, value: str, reason: str) -> None:
        source = f"{self._loaded.label}, {node.address}"
        self._loaded.findings.append(Finding("error", source, 0, member, value, reason))

    def _remark_on_others(self) -> None:
        """Count what is not taken in, each kind once."""
        for kind, n in sorted(self._package.count_kinds().items()):
            if kind not in _READ:
                reason = f"{n:,} associations of this kind are not taken in: no table holds them"
                self._loaded.findings.append(Finding("remark", self._loaded.label, 0, "associationType", kind, reason))
        bare = [node for node in self._list_competencies() if not self._find_scales(node)]
        if bare:
            where = self._scale or SOLE_SCALE
            reason = f"{len(bare):,} items hang on no level: they are measured on the scale {where}"
            self._loaded.findings.append(Finding("remark", self._loaded.label, 0, case.LEVEL_OF, "", reason))


def _is_id(code: str) -> bool:
    return len(code) <= LONGEST_ID and ID_PATTERN.fullmatch(code) is not None
