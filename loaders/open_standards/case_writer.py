"""The competencies and scales of a framework as a CASE 1.1 package: one JSON document.

What CASE has no member for stands in the extensions of its node under our own name, so that it comes back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from loaders.open_standards import case_names as case
from loaders.open_standards.edition import Edition, count_left_out
from ontology.model.framework_itself import THIS
from ontology.model.mapping_tables import ACCEPTED
from ontology.model.mapping_tables import Mapping as ConceptMapping
from ontology.model.records import Competency, ScaleLevel
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import is_safe_iri
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CaseExport", "build_case"]

_DOCUMENT: Final = ns.record_iri("framework", THIS)
#: Columns of competencies that have a member of their own, or an association.
_TOLD: Final = frozenset(
    {"id", "label", "definition", "kind", "broader", "scale", "exact_match", "alt_labels", "retired_on"}
)
#: Stands for who wrote it where nobody is named: the member must be there.
_NOBODY: Final = "not stated"


@dataclass(frozen=True, slots=True)
class CaseExport:
    """The package, and how many of what it cannot hold."""

    package: dict[str, Any]
    left_out: Mapping[str, int] = field(default_factory=dict)


def is_related(row: ConceptMapping) -> bool:
    """Whether a mapping is an association that is told; exact ones stand among the exact matches."""
    return row.relation == "related" and row.status == ACCEPTED


def build_case(edition: Edition) -> CaseExport:
    """Return the package of a state. O(records)."""
    writer, snapshot = _Writer(edition), edition.snapshot
    for scale, levels in snapshot.scales.items():
        writer.add_scale(scale, levels)
    for competency in snapshot.get_all("competencies").values():
        writer.add_competency(competency)
    for row in snapshot.get_all("replacements").values():
        if row.table == "competencies":
            writer.add_replacement(row)
    package = {
        "CFDocument": writer.build_document(),
        "CFItems": writer.items,
        "CFAssociations": writer.associations,
    }
    return CaseExport(package, count_left_out(_list_left_out(snapshot)))


class _Writer:
    """Gathers the items and associations of a package."""

    def __init__(self, edition: Edition) -> None:
        self._edition = edition
        self._snapshot = edition.snapshot
        self.items: list[dict[str, Any]] = []
        self.associations: list[dict[str, Any]] = []

    def build_document(self) -> dict[str, Any]:
        about, said = self._edition.framework, self._snapshot.framework.get(THIS)
        document = self._begin(_DOCUMENT) | {
            "title": about.title,
            "creator": about.creator or about.publisher or _NOBODY,
            "caseVersion": case.VERSION,
            "language": self._edition.language,
        }
        document |= _drop_empty(
            version=self._edition.version,
            publisher=about.publisher,
            description=about.description,
            officialSourceURL=about.homepage if is_safe_iri(about.homepage) else "",
        )
        if said is None:
            return document
        own = {column.name: getattr(said, column.attribute) for column in TABLES["framework"].columns}
        return document | _extend({name: value for name, value in own.items() if value})

    def add_scale(self, scale: str, levels: Iterable[ScaleLevel]) -> None:
        iri = ns.record_iri("scale", scale)
        self._add_item(iri, scale, "", case.SCALE, scale)
        self._associate(case.CHILD, iri, scale, _DOCUMENT, self._edition.framework.title)
        for level in levels:
            node = TABLES["scales"].get_iri(level)
            self._add_translations("scales", f"{level.scale}~{level.rank}", node, level.label, case.LEVEL)
            self._add_item(node, level.label, level.description, case.LEVEL, f"{scale}~{level.rank}", rank=level.rank)
            self._associate(case.CHILD, node, level.label, iri, scale, number=level.rank)

    def add_competency(self, record: Competency) -> None:
        iri, table = ns.record_iri("competency", record.id), TABLES["competencies"]
        values = {
            column.name: getattr(record, column.attribute) for column in table.columns if column.name not in _TOLD
        }
        defaults = {
            column.name: column.get_default({"kind": record.kind})
            for column in table.columns
            if column.name in values and not column.is_required
        }
        own: dict[str, Any] = {name: value for name, value in values.items() if value != defaults.get(name)}
        if len(record.alt_labels) > 1:
            own["alt_labels"] = record.alt_labels
        ended = "" if record.retired_on is None else record.retired_on.isoformat()
        item = self._add_item(iri, record.label, record.definition, record.kind, record.id, own=own)
        item |= _drop_empty(alternativeLabel="".join(record.alt_labels[:1]), statusEndDate=ended)
        self._place(record, iri)
        self._add_translations("competencies", record.id, iri, record.label, record.kind)

    def _add_translations(self, table: str, key: str, iri: str, label: str, kind: str) -> None:
        """Add an item for each language that says something of a record: what it does not say has the main one's."""
        by_language: dict[str, dict[str, Any]] = {}
        for row in self._snapshot.get_translations((table, key)):
            by_language.setdefault(row.language, {})[row.column] = row.text
        for language, said in sorted(by_language.items()):
            told, node = said.get("label", label), ns.record_iri("translation", table, key, language)
            text = said.get("definition") or said.get("description") or told
            item = self._add_item(node, told, text if text != told else "", kind, "", own=said)
            item["language"] = language
            del item["humanCodingScheme"]
            self._associate(case.TRANSLATION, node, told, iri, label)

    def _place(self, record: Competency, iri: str) -> None:
        """Say what a competency hangs on: what is wider, its levels, the same elsewhere."""
        known = self._snapshot.get_all("competencies")
        for wider in record.broader:
            above = ns.record_iri("competency", wider)
            self._associate(case.CHILD, iri, record.label, above, known[wider,].label)
        if not record.broader:
            self._associate(case.CHILD, iri, record.label, _DOCUMENT, self._edition.framework.title)
        for level in self._snapshot.scales.get(record.scale, ()):
            self._associate(case.LEVEL_OF, iri, record.label, TABLES["scales"].get_iri(level), level.label)
        for other in record.exact_match:
            self._associate(case.EXACT, iri, record.label, other, other)
        for row in self._snapshot.get_mappings(record.id):
            if is_related(row):
                self._associate(case.RELATED, iri, record.label, row.target, row.target)

    def add_replacement(self, row: Any) -> None:
        known = self._snapshot.get_all("competencies")
        old, new = (ns.record_iri("competency", one) for one in (row.old, row.new))
        titles = [known[one,].label if (one,) in known else one for one in (row.old, row.new)]
        made = self._associate(case.REPLACED, old, titles[0], new, titles[1])
        made |= _extend({"carry": row.carry} | ({"reason": row.reason} if row.reason else {}))

    def _begin(self, iri: str) -> dict[str, Any]:
        return {"identifier": case.make_identifier(iri), "uri": iri, "lastChangeDateTime": self._edition.stamp}

    def _add_item(
        self,
        iri: str,
        label: str,
        text: str,
        kind: str,
        code: str,
        *,
        rank: int | None = None,
        own: Mapping[str, Any] | None = None,
    ) -> dict[str, Any]:
        """Add an item: its statement is the text, or else the label; a text that is the label is told beside it."""
        item = self._begin(iri) | {
            "fullStatement": text or label,
            "abbreviatedStatement": label,
            "humanCodingScheme": code,
            "CFItemType": kind,
            "language": self._edition.language,
        }
        if rank is not None:
            item["listEnumeration"] = str(rank)
        more = {**(own or {}), **({"definition": text} if text == label else {})}
        item |= _extend(more) if more else {}
        self.items.append(item)
        return item

    def _associate(
        self, kind: str, origin: str, title: str, target: str, target_title: str, *, number: int | None = None
    ) -> dict[str, Any]:
        made = self._begin(ns.record_iri("association", kind, origin, target)) | {
            "associationType": kind,
            "originNodeURI": case.build_link(origin, title),
            "destinationNodeURI": case.build_link(target, target_title),
        }
        if number is not None:
            made["sequenceNumber"] = number
        self.associations.append(made)
        return made


def _extend(own: Mapping[str, Any]) -> dict[str, Any]:
    return {"extensions": {case.EXTENSION: dict(own)}}


def _drop_empty(**texts: str) -> dict[str, str]:
    return {name: text for name, text in texts.items() if text}


def _list_left_out(snapshot: Snapshot) -> Iterator[tuple[str, Any]]:
    for name in ("roles", "requirements", "courses", "outcomes", "entry_conditions", "equivalences", "level_maps"):
        yield name.replace("_", " "), snapshot.get_all(name)
    rows = snapshot.get_all("replacements").values()
    mapped = snapshot.get_table("mappings").values()
    yield "mappings that are not related", (row for row in mapped if row.relation != "exact" and not is_related(row))
    yield "replacements of roles and courses", (row for row in rows if row.table != "competencies")
