"""Who could be the same of what has no counterpart: records whose labels are alike, or that have one another's name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Final

from ontology.analysis.compare.in_languages import get_label, list_common_languages
from ontology.analysis.compare.neighbours import Neighbour, make_reader
from ontology.analysis.compare.pairs import Pairs
from ontology.analysis.likeness.labels import find_alike, normalise, rate_each, rate_labels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Near", "find_candidates", "rate_pair"]

#: How alike two labels are at least where one is another name of the other.
OTHER_NAME: Final = 0.95
#: Up to so many pairs all are looked at; above, those that share a neighbour or a word that few labels hold.
_MOST_PAIRS: Final = 4_000_000
_FEW: Final = 50

#: Table and id -> neighbours.
Near = Mapping[tuple[str, str], frozenset[Neighbour]]


def rate_pair(before: Snapshot, after: Snapshot, table: str, one: str, other: str) -> float:
    """Return how alike the labels of two records are, 0 to 1; another name counts nearly as much."""
    here, there = before.get_table(table)[one,], after.get_table(table)[other,]
    label, other_label = normalise(here.label), normalise(there.label)
    score = rate_labels(label, other_label)
    if label in _list_other_names(there) or other_label in _list_other_names(here):
        score = max(score, OTHER_NAME)
    for language in list_common_languages(before, after):
        told, other_told = get_label(before, table, one, language), get_label(after, table, other, language)
        if told and other_told:
            score = max(score, rate_labels(told, other_told))
    return score


def find_candidates(
    before: Snapshot, after: Snapshot, pairs: Pairs, table: str, near: tuple[Near, Near], least: float
) -> Iterator[tuple[str, str, float]]:
    """Yield (id, id, how alike) of the records of a table without a counterpart whose labels are so much alike.

    `near` holds the neighbours of those of both states.

    Notes
    -----
    O(n m) for n and m of them up to 4,000,000 pairs; then by shared words and neighbours.
    """
    ones, others = pairs.list_unpaired(before, after, table)
    here, there = before.get_table(table), after.get_table(table)
    labels = {one: normalise(here[one,].label) for one in ones}
    other_labels = {one: normalise(there[one,].label) for one in others}
    scores = _rate_all(table, labels, other_labels, near, pairs, least)
    for language in list_common_languages(before, after):
        own, theirs = (
            {one: label for one in ids if (label := get_label(state, table, one, language))}
            for state, ids in ((before, ones), (after, others))
        )
        for pair, score in _rate_all(table, own, theirs, near, pairs, least).items():
            scores[pair] = max(scores.get(pair, 0), score)
    for one, other in _list_by_other_name(before, after, table, labels, other_labels):
        scores[one, other] = max(scores.get((one, other), 0), OTHER_NAME)
    for (one, other), score in sorted(scores.items()):
        yield one, other, score


def _rate_all(
    table: str,
    labels: dict[str, str],
    other_labels: dict[str, str],
    near: tuple[Near, Near],
    pairs: Pairs,
    least: float,
) -> dict[tuple[str, str], float]:
    """Return (id, id) -> how alike their labels in one language are, of those that are so much alike."""
    ones, others = list(labels), list(other_labels)
    if len(ones) * len(others) <= _MOST_PAIRS:
        found = find_alike(list(labels.values()), list(other_labels.values()), least)
        return {(ones[row], others[column]): score for row, column, score in found}
    worth = sorted(_list_worth(table, labels, other_labels, near, pairs))
    rated = rate_each([labels[one] for one, _ in worth], [other_labels[other] for _, other in worth], least)
    return {pair: score for pair, score in zip(worth, rated, strict=True) if score >= least}


def _list_worth(
    table: str, labels: dict[str, str], other_labels: dict[str, str], near: tuple[Near, Near], pairs: Pairs
) -> set[tuple[str, str]]:
    """Return the pairs that share a neighbour, or a word that few labels of each side hold."""
    words, other_words = _group_by_word(labels), _group_by_word(other_labels)
    groups = [
        (ids, other_words[word])
        for word, ids in words.items()
        if len(ids) <= _FEW and 0 < len(other_words.get(word, ())) <= _FEW
    ]
    by_near: defaultdict[Neighbour, list[str]] = defaultdict(list)
    forward = make_reader(pairs.forward)
    for one in labels:
        for neighbour in near[0][table, one]:
            meant = forward(neighbour)
            if meant is not None:
                by_near[meant].append(one)
    for other in other_labels:
        groups += [(by_near[neighbour], [other]) for neighbour in near[1][table, other] if neighbour in by_near]
    return {(one, other) for ids, others in groups for one in ids for other in others}


def _list_other_names(record: object) -> frozenset[str]:
    return frozenset(map(normalise, getattr(record, "alt_labels", ())))


def _list_by_other_name(
    before: Snapshot, after: Snapshot, table: str, labels: dict[str, str], other_labels: dict[str, str]
) -> Iterator[tuple[str, str]]:
    """Yield (id, id) where the label of one is another name of the other."""
    for state, own, theirs, is_before in ((before, labels, other_labels, True), (after, other_labels, labels, False)):
        by_label: defaultdict[str, list[str]] = defaultdict(list)
        for one, label in theirs.items():
            by_label[label].append(one)
        records = state.get_table(table)
        for one in own:
            for name in _list_other_names(records[one,]):
                yield from ((one, other) if is_before else (other, one) for other in by_label.get(name, ()))


def _group_by_word(labels: dict[str, str]) -> dict[str, list[str]]:
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for one, label in labels.items():
        for word in set(label.split()):
            groups[word].append(one)
    return groups
