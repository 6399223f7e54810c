"""Who could be the same of what has no counterpart: records whose labels are alike, or that have one another's name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from ontology.analysis.compare.neighbours import Neighbour, make_reader
from ontology.analysis.compare.pairs import Pairs
from ontology.analysis.likeness.labels import find_alike, normalise, rate_each, rate_labels
from ontology.snapshot.languages import get_main_language, get_texts, list_common_languages
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
    """Return how alike the labels of two records are, 0 to 1, in the language of both in which they are most so.

    Another name counts nearly as much.
    """
    here, there = before.get_table(table)[one,], after.get_table(table)[other,]
    score = 0.0
    for own, theirs in _list_languages(before, after):
        label, other_label = _get_label(before, table, here, own), _get_label(after, table, there, theirs)
        score = max(score, rate_labels(label, other_label) if label else 0.0)
        if label in _list_other_names(after, table, there, theirs):
            score = max(score, OTHER_NAME)
        if other_label in _list_other_names(before, table, here, own):
            score = max(score, OTHER_NAME)
    return score


def find_candidates(
    before: Snapshot, after: Snapshot, pairs: Pairs, table: str, near: tuple[Near, Near], least: float
) -> Iterator[tuple[str, str, float]]:
    """Yield (id, id, how alike) of the records of a table without a counterpart whose labels are so much alike.

    `near` holds the neighbours of those of both states.

    Notes
    -----
    O(n m) for n and m of them up to 4,000,000 pairs; then by shared words and neighbours. Once for each language that
    both states have.
    """
    ones, others = pairs.list_unpaired(before, after, table)
    scores: dict[tuple[str, str], float] = {}
    for own, theirs in _list_languages(before, after):
        labels, other_labels = _read_labels(before, table, ones, own), _read_labels(after, table, others, theirs)
        for pair, score in _rate_all(table, labels, other_labels, near, pairs, least).items():
            scores[pair] = max(scores.get(pair, 0), score)
        named = _list_by_other_name(before, table, ones, own, other_labels)
        mirrored = _list_by_other_name(after, table, others, theirs, labels)
        for pair in (*named, *((one, other) for other, one in mirrored)):
            scores[pair] = max(scores.get(pair, 0), OTHER_NAME)
    for (one, other), score in scores.items():
        yield one, other, score


def _list_languages(before: Snapshot, after: Snapshot) -> list[tuple[str, str]]:
    """Return in which language of each state names are compared: what is written first, then what both have."""
    common = ((language, language) for language in list_common_languages(before, after))
    return [(get_main_language(before), get_main_language(after)), *common]


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
    worth = list(_list_worth(table, labels, other_labels, near, pairs))
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


def _get_label(state: Snapshot, table: str, record: Any, language: str) -> str:
    return "".join(map(normalise, get_texts(state, table, record, "label", language)))


def _read_labels(state: Snapshot, table: str, ids: Iterable[str], language: str) -> dict[str, str]:
    """Return id -> label as it is compared, of the records that have one in a language."""
    records = state.get_table(table)
    return {one: label for one in ids if (label := _get_label(state, table, records[one,], language))}


def _list_other_names(state: Snapshot, table: str, record: Any, language: str) -> frozenset[str]:
    return frozenset(filter(None, map(normalise, get_texts(state, table, record, "alt_labels", language))))


def _list_by_other_name(
    state: Snapshot, table: str, ids: Iterable[str], language: str, labels: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    """Yield (id, id) where a label of the other state is another name of a record of this one."""
    by_label: defaultdict[str, list[str]] = defaultdict(list)
    for other, label in labels.items():
        by_label[label].append(other)
    records = state.get_table(table)
    for one in ids:
        for name in _list_other_names(state, table, records[one,], language):
            yield from ((one, other) for other in by_label.get(name, ()))


def _group_by_word(labels: dict[str, str]) -> dict[str, list[str]]:
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for one, label in labels.items():
        for word in set(label.split()):
            groups[word].append(one)
    return groups
