"""Records of one table with labels nearly the same: neither is broader, took its place or is marked as different."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any, Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.analysis.likeness.labels import find_alike_pairs, normalise
from ontology.model.mapping_tables import ACCEPTED
from ontology.rdf import namespaces as ns
from ontology.snapshot.languages import find_texts, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RULES"]

_NAME: Final = "near-duplicate labels"
_TABLES: Final = ("competencies", "roles", "courses")


def _find_near(looked: Looked) -> Iterator[Fault]:
    known = _find_known(looked.snapshot)
    for table in _TABLES:
        records: list[Any] = list(getattr(looked.snapshot, table).values())
        texts = [normalise(record.label) for record in records]
        pairs = {(one, other): "" for one, other, _ in find_alike_pairs(texts, looked.limits.labels_alike / 100)}
        for one, other, name in _find_named(records, texts):
            pairs.setdefault((one, other), name)
        for one, other in _find_in_languages(looked, table, records):
            pairs.setdefault((one, other), "")
        for (one, other), name in sorted(pairs.items()):
            first, second = records[one], records[other]
            if (table, frozenset((first.id, second.id))) in known:
                continue
            if table != "competencies" or not _is_above(looked.snapshot, first.id, second.id):
                reason = _tell(first.label, second.label, name)
                yield Fault(_NAME, table, first.id, f"{first.label} / {second.label}", reason, other=second.id)


def _find_in_languages(looked: Looked, table: str, records: list[Any]) -> Iterator[tuple[int, int]]:
    """Yield the places of two records, the lower first, that another language calls nearly the same."""
    for language in list_languages(looked.snapshot):
        texts: dict[int, str] = {}
        for place, record in enumerate(records):
            if told := find_texts(looked.snapshot, table, record.id, "label", language):
                texts[place] = normalise(told[0])
        places = list(texts)
        for one, other, _ in find_alike_pairs(list(texts.values()), looked.limits.labels_alike / 100):
            yield places[one], places[other]
        names: defaultdict[str, list[int]] = defaultdict(list)
        for place, text in texts.items():
            names[text].append(place)
        for place, record in enumerate(records):
            for name in find_texts(looked.snapshot, table, record.id, "alt_labels", language):
                yield from (
                    (min(place, other), max(place, other)) for other in names.get(normalise(name), ()) if other != place
                )


def _find_known(snapshot: Snapshot) -> set[tuple[str, frozenset[str]]]:
    """Return table and ids of what took the place of another, and of competencies that are marked as different."""
    found = {(row.table, frozenset((row.old, row.new))) for row in snapshot.get_table("replacements").values()}
    marked = [row for row in snapshot.get_table("mappings").values() if row.relation == "different"]
    concepts: defaultdict[str, set[str]] = defaultdict(set)
    for one in snapshot.competencies.values() if marked else ():
        for iri in (ns.record_iri("competency", one.id), *one.exact_match):
            concepts[iri].add(one.id)
    for row in marked:
        if row.status == ACCEPTED:
            found |= {("competencies", frozenset((row.competency, other))) for other in concepts.get(row.target, ())}
    return found


def _find_named(records: list[Any], texts: list[str]) -> Iterator[tuple[int, int, str]]:
    """Yield the places of two records, the lower first, where the label of one is another name of the other."""
    places: defaultdict[str, list[int]] = defaultdict(list)
    for place, text in enumerate(texts):
        places[text].append(place)
    for place, record in enumerate(records):
        for name in getattr(record, "alt_labels", ()):
            for other in places.get(normalise(name), ()):
                if other != place:
                    yield min(place, other), max(place, other), name


def _is_above(snapshot: Snapshot, one: str, other: str) -> bool:
    """Whether one of two competencies is broader than the other, directly or through others."""
    return other in _list_broader(snapshot, one) or one in _list_broader(snapshot, other)


def _list_broader(snapshot: Snapshot, competency_id: str) -> set[str]:
    found: set[str] = set()
    new = list(snapshot.competencies[competency_id].broader)
    while new:
        one = new.pop()
        if one not in found and one in snapshot.competencies:
            found.add(one)
            new += snapshot.competencies[one].broader
    return found


def _tell(one: str, other: str, name: str) -> str:
    if normalise(one) == normalise(other):
        return "Both have the same label, so people pick either."
    if name:
        return f"“{name}” is what one is called and another name of the other, so people pick either."
    return "Their labels are nearly the same, so people pick either."


RULES: Final = (HealthRule(_NAME, _find_near),)
