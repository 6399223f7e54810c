"""Rules on mappings: what one says of a concept elsewhere must fit what the others and exact_match say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.mapping_tables import ACCEPTED
from ontology.model.mapping_tables import Mapping as ConceptMapping
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

#: SKOS Reference (W3C Recommendation, 18 August 2009), S46: exactMatch is disjoint with broadMatch and relatedMatch;
#: narrowMatch is the inverse of broadMatch (S43).
_DISJOINT: Final = ("broad", "narrow", "related")


def _check_s46(snapshot: Snapshot, record: ConceptMapping) -> Iterator[Problem]:
    if record.status != ACCEPTED or record.relation not in _DISJOINT:
        return
    same = _find_same(snapshot)
    own = ns.record_iri("competency", record.competency)
    if same.get(own, own) == same.get(record.target, record.target):
        reason = (
            f"{describe('mappings', record)} is said to be {record.relation}, but exact matches make the two the same "
            "concept (SKOS S46); keep one of them"
        )
        yield Problem("relation", record.relation, reason)


def _check_different(snapshot: Snapshot, record: ConceptMapping) -> Iterator[Problem]:
    competency = snapshot.competencies.get(record.competency)
    is_different = record.relation == "different" or record.status != ACCEPTED
    if is_different and competency is not None and record.target in competency.exact_match:
        reason = f"{describe('mappings', record)} is not the same, but exact_match of {record.competency} names it"
        yield Problem("target", record.target, reason)


def _find_same(snapshot: Snapshot) -> Mapping[str, str]:
    """Return concept -> one that stands for all that exact matches make the same (S44, S45). O(n), once for a state."""
    return snapshot.keep("exact matches", lambda: _join(snapshot))


def _join(snapshot: Snapshot) -> dict[str, str]:
    above: dict[str, str] = {}

    def find(node: str) -> str:
        while (higher := above.setdefault(node, node)) != node:
            above[node] = node = above[higher]
        return node

    for competency in snapshot.competencies.values():
        for iri in competency.exact_match:
            above[find(ns.record_iri("competency", competency.id))] = find(iri)
    for row in snapshot.get_table("mappings").values():
        if row.relation == "exact" and row.status == ACCEPTED:
            above[find(ns.record_iri("competency", row.competency))] = find(row.target)
    return {node: find(node) for node in list(above)}


RULES: Final = (
    Rule("one relation to a concept elsewhere", "error", "mappings", _check_s46),
    Rule("what is not the same is not matched", "remark", "mappings", _check_different),
)
