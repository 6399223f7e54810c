"""Which concepts of an outside framework a competency of ours may be mapped to, and as what. Pure.

The best 50 by runs of letters are rated by labels, by what they stand below and by their definitions. It is a proposal:
on labels of another maker letters alone mislead.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final, Literal

import numpy as np

from ontology.analysis.likeness.grams import GramIndex, Ratings
from ontology.analysis.likeness.labels import normalise, rate_labels
from ontology.model.records import Competency
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LEAST", "LIMIT", "Proposal", "find_outside_iri", "find_proposals", "propose_relation"]

#: Proposals of one competency, and the least score, unless others are asked for.
LIMIT: Final = 3
LEAST: Final = 0.5
#: Concepts that are looked at closely.
_NEAR: Final = 50
_NAMES_A_CONCEPT: Final = 8
#: Shares of what runs of letters say and what whole words say, and of the parts of the score.
_GRAM, _WORDS = 0.7, 0.3
_TEXT, _PLACE, _MEANING = 0.8, 0.1, 0.1
#: What another name than the label counts less.
_OTHER_NAME: Final = 0.95
_DIGITS: Final = 4

Relation = Literal["exact", "close", "broad", "narrow"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A concept of the outside framework that a competency may be mapped to."""

    competency: Annotated[str, "Id of the competency of ours."]
    target: Annotated[str, "The concept elsewhere (IRI)."]
    concept: Annotated[str, "Its id in the outside framework."]
    label: Annotated[str, "What it is called there."]
    relation: Annotated[Relation, "What it is proposed as: exact or close = the same; broad, narrow = theirs is so."]
    score: Annotated[float, "How much speaks for it, 0 to 1."]
    text: Annotated[float, "How alike the names are, 0 to 1."]
    place: Annotated[float | None, "How alike the names of what they stand below are; null where one has none."]
    meaning: Annotated[float | None, "How alike the definitions are; null where one has none."]


@dataclass(frozen=True)
class _Names:
    """Every name of a framework's competencies in one list, normalised; those of one stand together, its label first.

    `first` is the position of the label of each, by id; `ends` the position behind its last name.
    """

    index: GramIndex
    texts: tuple[str, ...]
    owners: tuple[str, ...]
    first: Mapping[str, int]
    ends: Mapping[str, int]


def find_outside_iri(record: Competency, outside_id: str) -> str:
    """Return the IRI by which a concept of an outside framework is mapped to: its own where it says one."""
    if record.exact_match:
        return record.exact_match[0]
    return f"{ns.OUTSIDE}{outside_id}/competency/{record.id}"


def propose_relation(ours: Competency, theirs: Competency) -> Relation:
    """Return what a concept is proposed as, by the words of the names."""
    mine, other = normalise(ours.label), normalise(theirs.label)
    if mine == other or mine in map(normalise, theirs.alt_labels) or other in map(normalise, ours.alt_labels):
        return "exact"
    my_words, their_words = set(mine.split()), set(other.split())
    if my_words < their_words:
        return "narrow"
    return "broad" if their_words < my_words else "close"


def find_proposals(
    snapshot: Snapshot,
    outside: Snapshot,
    outside_id: str,
    competencies: Iterable[str] | None = None,
    *,
    limit: int = LIMIT,
    least: float = LEAST,
) -> list[Proposal]:
    """Return the proposals for some competencies of ours, or all, in their order; the best of each first.

    Concepts that a competency is mapped to already, as whatever, accepted or refused, are not proposed again.

    Notes
    -----
    The index of the outside framework is built once for a Snapshot: O(characters). A competency then costs what shares
    a run of letters with its names, and 50 concepts looked at closely. Equal scores stand in the order of ids.
    """
    names = outside.keep("names by letters", lambda: _index_names(outside))
    rater = _Rater(snapshot, outside, names)
    found: list[Proposal] = []
    for competency_id in sorted(snapshot.competencies if competencies is None else competencies):
        ours = snapshot.competencies[competency_id]
        known = {*ours.exact_match, *(row.target for row in snapshot.get_mappings(competency_id))}
        rated = []
        for concept_id, text in rater.find_near(ours).items():
            theirs = outside.competencies[concept_id]
            target = find_outside_iri(theirs, outside_id)
            if target not in known and known.isdisjoint(theirs.exact_match):
                rated.append(rater.rate(ours, theirs, text, target))
        rated.sort(key=lambda one: (-one.score, one.concept))
        found += [one for one in rated if one.score >= least][:limit]
    return found


class _Rater:
    """Rates concepts of one outside framework as counterparts of competencies of ours."""

    def __init__(self, snapshot: Snapshot, outside: Snapshot, names: _Names) -> None:
        self.snapshot, self.outside, self.names = snapshot, outside, names

    def find_near(self, ours: Competency) -> dict[str, float]:
        """Return the concepts with the names most alike by runs of letters, at most 50, and how alike the names are."""
        mine = [normalise(name) for name in (ours.label, *ours.alt_labels)]
        ratings = [self.names.index.rate_all(name) for name in mine]
        best: dict[str, float] = {}
        for rated in ratings:
            # several names of one concept may stand close together: more names than concepts are taken
            for row in _list_greatest(rated, _NAMES_A_CONCEPT * _NEAR):
                owner = self.names.owners[row]
                best[owner] = max(best.get(owner, 0.0), float(rated[row]))
        near = sorted(best, key=lambda owner: (-best[owner], owner))[:_NEAR]
        return {owner: max(self._rate_names(owner, mine, ratings)) for owner in near}

    def rate(self, ours: Competency, theirs: Competency, text: float, target: str) -> Proposal:
        """Return a concept, whose names are so much alike, with what speaks for it."""
        place = self._rate_joined(_join_parents(self.snapshot, ours), _join_parents(self.outside, theirs))
        meaning = self._rate_joined(ours.definition, theirs.definition)
        parts = [(_TEXT, text), (_PLACE, place), (_MEANING, meaning)]
        told = [(share, value) for share, value in parts if value is not None]
        score = sum(share * value for share, value in told) / sum(share for share, _ in told)
        place, meaning = (None if value is None else round(value, _DIGITS) for value in (place, meaning))
        return Proposal(
            competency=ours.id,
            target=target,
            concept=theirs.id,
            label=theirs.label,
            relation=propose_relation(ours, theirs),
            score=round(score, _DIGITS),
            text=round(text, _DIGITS),
            place=place,
            meaning=meaning,
        )

    def _rate_names(self, owner: str, mine: Sequence[str], ratings: Sequence[Ratings]) -> Iterator[float]:
        """Yield how alike each name of ours and each of a concept are."""
        first = self.names.first[owner]
        for row in range(first, self.names.ends[owner]):
            for n, (name, rated) in enumerate(zip(mine, ratings, strict=True)):
                alike = _GRAM * float(rated[row]) + _WORDS * rate_labels(name, self.names.texts[row])
                yield alike if n == 0 and row == first else _OTHER_NAME * alike

    def _rate_joined(self, one: str, other: str) -> float | None:
        """Return how alike two texts are by runs of letters; None where one of them is missing."""
        return self.names.index.rate(one, other) if one and other else None


def _index_names(outside: Snapshot) -> _Names:
    texts: list[str] = []
    owners: list[str] = []
    first, ends = {}, {}
    for one in outside.competencies.values():
        first[one.id] = len(texts)
        texts += map(normalise, (one.label, *one.alt_labels))
        ends[one.id] = len(texts)
        owners += [one.id] * (ends[one.id] - first[one.id])
    return _Names(GramIndex(texts), tuple(texts), tuple(owners), first, ends)


def _join_parents(snapshot: Snapshot, record: Competency) -> str:
    parents: Mapping[str, Competency] = snapshot.competencies
    return " ".join(parents[one].label for one in record.broader if one in parents)


def _list_greatest(values: Ratings, n: int) -> list[int]:
    """Return the positions of the n greatest values above 0, and of those equal to the last of them."""
    if len(values) > n:
        least = np.partition(values, len(values) - n)[len(values) - n]
        return [int(row) for row in np.flatnonzero((values >= least) & (values > 0))]
    return [int(row) for row in np.flatnonzero(values > 0)]
