"""Which concepts of an outside framework a competency of ours may be mapped to, and as what. Pure.

The best 50 by runs of letters are rated by labels, by what they stand below and by their definitions, each in the
language of both frameworks in which it is most alike. It is a proposal: on labels of another maker letters alone
mislead.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final, Literal

import numpy as np

from ontology.analysis.likeness.grams import Ratings
from ontology.analysis.likeness.labels import rate_labels
from ontology.analysis.likeness.spoken_names import (
    Called,
    get_called,
    get_index,
    join_labels,
    list_language_pairs,
)
from ontology.model.records import Competency
from ontology.rdf import namespaces as ns
from ontology.snapshot.languages import get_texts
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


@dataclass(frozen=True, slots=True)
class _Near:
    """How alike the names of a competency and a concept are; what is proposed by them."""

    text: float
    relation: Relation


def find_outside_iri(record: Competency, outside_id: str) -> str:
    """Return the IRI by which a concept of an outside framework is mapped to: its own where it says one."""
    if record.exact_match:
        return record.exact_match[0]
    return f"{ns.OUTSIDE}{outside_id}/competency/{record.id}"


def propose_relation(mine: Called, theirs: Called) -> Relation:
    """Return what a concept is proposed as, by the words of the names in one language."""
    if mine.label and (mine.label == theirs.label or mine.label in theirs.others):
        return "exact"
    if theirs.label and theirs.label in mine.others:
        return "exact"
    my_words, their_words = set(mine.label.split()), set(theirs.label.split())
    if not my_words or not their_words:
        return "close"
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
    Names are compared as they are written, and in every language that both frameworks have; places and definitions in
    such a language alone. The index of the outside framework is built once for a Snapshot and a language:
    O(characters). A competency then costs what shares a run of letters with its names, and 50 concepts looked at
    closely. Equal scores stand in the order of ids.
    """
    rater = _Rater(snapshot, outside)
    found: list[Proposal] = []
    for competency_id in sorted(snapshot.competencies if competencies is None else competencies):
        ours = snapshot.competencies[competency_id]
        known = {*ours.exact_match, *(row.target for row in snapshot.get_mappings(competency_id))}
        rated = []
        for concept_id, near in rater.find_near(ours).items():
            theirs = outside.competencies[concept_id]
            target = find_outside_iri(theirs, outside_id)
            if target not in known and known.isdisjoint(theirs.exact_match):
                rated.append(rater.rate(ours, theirs, near, target))
        rated.sort(key=lambda one: (-one.score, one.concept))
        found += [one for one in rated if one.score >= least][:limit]
    return found


class _Rater:
    """Rates concepts of one outside framework as counterparts of competencies of ours."""

    def __init__(self, snapshot: Snapshot, outside: Snapshot) -> None:
        self.snapshot, self.outside = snapshot, outside
        self.pairs = list_language_pairs(snapshot, outside)
        self.languages = [own for own, theirs in self.pairs if own == theirs]

    def find_near(self, ours: Competency) -> dict[str, _Near]:
        """Return the concepts with the names most alike by runs of letters, at most 50, and how alike the names are."""
        spoken = []
        best: dict[str, float] = {}
        for own, other in self.pairs:
            mine, names = get_called(self.snapshot, ours, own), get_index(self.outside, other)
            ratings = [names.index.rate_all(name) for name in mine.names]
            spoken.append((mine, names, ratings))
            for rated in ratings:
                # several names of one concept may stand close together: more names than concepts are taken
                for row in _list_greatest(rated, _NAMES_A_CONCEPT * _NEAR):
                    owner = names.owners[row]
                    best[owner] = max(best.get(owner, 0.0), float(rated[row]))
        found = {}
        for owner in sorted(best, key=lambda one: (-best[one], one))[:_NEAR]:
            told = [
                (max(_rate_names(mine, theirs, ratings, names.first[owner])), propose_relation(mine, theirs))
                for mine, names, ratings in spoken
                if mine.names and (theirs := names.called.get(owner)) is not None
            ]
            text, relation = max(told, key=lambda one: one[0])
            found[owner] = _Near(text, "exact" if any(said == "exact" for _, said in told) else relation)
        return found

    def rate(self, ours: Competency, theirs: Competency, near: _Near, target: str) -> Proposal:
        """Return a concept, whose names are so near, with what speaks for it."""
        place = self._rate_texts(
            lambda language: join_labels(self.snapshot, ours.broader, language),
            lambda language: join_labels(self.outside, theirs.broader, language),
        )
        meaning = self._rate_texts(
            lambda language: "".join(get_texts(self.snapshot, "competencies", ours, "definition", language)),
            lambda language: "".join(get_texts(self.outside, "competencies", theirs, "definition", language)),
        )
        parts = [(_TEXT, near.text), (_PLACE, place), (_MEANING, meaning)]
        told = [(share, value) for share, value in parts if value is not None]
        score = sum(share * value for share, value in told) / sum(share for share, _ in told)
        place, meaning = (None if value is None else round(value, _DIGITS) for value in (place, meaning))
        return Proposal(
            competency=ours.id,
            target=target,
            concept=theirs.id,
            label=theirs.label,
            relation=near.relation,
            score=round(score, _DIGITS),
            text=round(near.text, _DIGITS),
            place=place,
            meaning=meaning,
        )

    def _rate_texts(self, read: Callable[[str], str], read_theirs: Callable[[str], str]) -> float | None:
        """Return how alike two texts are by runs of letters, in the language of both in which they are most so.

        None where no language has both.
        """
        told = [
            get_index(self.outside, language).index.rate(one, other)
            for language in self.languages
            if (one := read(language)) and (other := read_theirs(language))
        ]
        return max(told, default=None)


def _rate_names(mine: Called, theirs: Called, ratings: Sequence[Ratings], first: int) -> Iterator[float]:
    """Yield how alike each name of ours and each of a concept are, whose names begin at a row of the ratings."""
    for n, other in enumerate(theirs.names):
        for name, rated in zip(mine.names, ratings, strict=True):
            alike = _GRAM * float(rated[first + n]) + _WORDS * rate_labels(name, other)
            yield alike if name == mine.label and other == theirs.label else _OTHER_NAME * alike


def _list_greatest(values: Ratings, n: int) -> list[int]:
    """Return the positions of the n greatest values above 0, and of those equal to the last of them."""
    if len(values) > n:
        least = np.partition(values, len(values) - n)[len(values) - n]
        return [int(row) for row in np.flatnonzero((values >= least) & (values > 0))]
    return [int(row) for row in np.flatnonzero(values > 0)]
