"""Which records without a counterpart are probably the same: by label and by what hangs on them, in rounds.

Clear winners become pairs first and then count as counterparts themselves: several records may share one label, and
only what hangs on them tells them apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from ontology.analysis.compare.neighbours import TOLD, Neighbour, list_near, make_reader
from ontology.analysis.compare.pairs import Pairs
from ontology.analysis.likeness.labels import find_alike, normalise, rate_labels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Likely", "find_likely", "rate_pair"]

#: Score from which two records may be the same; how much of it the label makes.
LEAST: Final = 0.7
OF_LABEL: Final = 0.7
#: How alike two labels are at least where one is another name of the other.
OTHER_NAME: Final = 0.95
#: With a label less alike nothing that hangs on them brings a pair to the least score.
_LEAST_LABEL: Final = (LEAST - (1 - OF_LABEL)) / OF_LABEL
#: Up to so many pairs all are looked at; above, those that share a neighbour or a word that few labels hold.
_MOST_PAIRS: Final = 4_000_000
_FEW: Final = 50

#: Table, id before, id after.
Pair = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Likely:
    """Two records that are probably the same; `overlap` is None where nothing hangs on either that both states have."""

    table: str
    before: str
    after: str
    score: float
    label_score: float
    overlap: float | None


def find_likely(before: Snapshot, after: Snapshot, pairs: Pairs) -> list[Likely]:
    """Return who is probably the same of what has no counterpart, by table and ids; `pairs` grows by them.

    Notes
    -----
    O(n m) for n and m records without a counterpart up to 4,000,000 pairs, then by shared words and neighbours; each
    pair that is made has the pairs around it rated again.
    """
    search = _Search(before, after, pairs)
    while won := search.choose():
        for likely in won:
            search.accept(likely)
    return sorted(search.found, key=lambda one: (TOLD.index(one.table), one.before, one.after))


def rate_pair(before: Snapshot, after: Snapshot, table: str, one: str, other: str) -> float:
    """Return how alike the labels of two records are, 0 to 1; another name counts nearly as much."""
    here, there = before.get_table(table)[one,], after.get_table(table)[other,]
    label, other_label = normalise(here.label), normalise(there.label)
    score = rate_labels(label, other_label)
    if label in _list_other_names(there) or other_label in _list_other_names(here):
        score = max(score, OTHER_NAME)
    return score


class _Search:
    """The pairs under consideration with their scores."""

    def __init__(self, before: Snapshot, after: Snapshot, pairs: Pairs) -> None:
        self.found: list[Likely] = []
        self._pairs = pairs
        self._near: dict[tuple[str, str], frozenset[Neighbour]] = {}
        self._near_after: dict[tuple[str, str], frozenset[Neighbour]] = {}
        self._labels: dict[Pair, float] = {}
        #: Candidates: what reaches the least score.
        self._rated: dict[Pair, Likely] = {}
        self._of_before: defaultdict[tuple[str, str], set[Pair]] = defaultdict(set)
        self._of_after: defaultdict[tuple[str, str], set[Pair]] = defaultdict(set)
        self._beside_before: defaultdict[tuple[str, str], set[tuple[str, str]]] = defaultdict(set)
        self._beside_after: defaultdict[tuple[str, str], set[tuple[str, str]]] = defaultdict(set)
        for table in TOLD:
            ones, others = pairs.list_unpaired(before, after, table)
            self._read(before, table, ones, self._near, self._beside_before)
            self._read(after, table, others, self._near_after, self._beside_after)
            for one, other, score in self._find_alike(before, after, table, ones, others):
                pair = (table, one, other)
                self._labels[pair] = score
                self._of_before[table, one].add(pair)
                self._of_after[table, other].add(pair)
        for pair in self._labels:
            self._rate(pair)

    def choose(self) -> list[Likely]:
        """Return the candidates whose score is strictly the greatest of both members; else the greatest, if any."""
        best_before, best_after = _find_best(self._rated, 1), _find_best(self._rated, 2)
        won = [
            likely
            for pair, likely in self._rated.items()
            if best_before[pair[0], pair[1]] == best_after[pair[0], pair[2]] == (likely.score, 1)
        ]
        if won or not self._rated:
            return won
        return [min(self._rated.values(), key=lambda one: (-one.score, TOLD.index(one.table), one.before, one.after))]

    def accept(self, likely: Likely) -> None:
        """Make a pair, with the score it won by; what has it for a neighbour is rated again."""
        table, one, other = likely.table, likely.before, likely.after
        self.found.append(likely)
        self._pairs.add(table, one, other)
        for gone in [*self._of_before.pop((table, one)), *self._of_after.pop((table, other))]:
            self._labels.pop(gone, None)
            self._rated.pop(gone, None)
        touched = {
            again
            for groups, beside in (
                (self._of_before, self._beside_before[table, one]),
                (self._of_after, self._beside_after[table, other]),
            )
            for member in beside
            for again in groups.get(member, ())
        }
        for again in touched:
            if again in self._labels:
                self._rate(again)

    def _rate(self, pair: Pair) -> None:
        table, one, other = pair
        label = self._labels[pair]
        here = {self._forward(near) for near in self._near[table, one]} - {None}
        there = {near for near in self._near_after[table, other] if self._back(near) is not None}
        overlap = len(here & there) / len(here | there) if here or there else None
        score = round(label if overlap is None else OF_LABEL * label + (1 - OF_LABEL) * overlap, 4)
        if score >= LEAST:
            shown = None if overlap is None else round(overlap, 4)
            self._rated[pair] = Likely(table, one, other, score, round(label, 4), shown)
        else:
            self._rated.pop(pair, None)

    def _forward(self, near: Neighbour) -> Neighbour | None:
        return make_reader(self._pairs.forward)(near)

    def _back(self, near: Neighbour) -> Neighbour | None:
        return make_reader(self._pairs.back)(near)

    @staticmethod
    def _read(
        state: Snapshot,
        table: str,
        ids: Iterable[str],
        near: dict[tuple[str, str], frozenset[Neighbour]],
        beside: defaultdict[tuple[str, str], set[tuple[str, str]]],
    ) -> None:
        for one in ids:
            near[table, one] = list_near(state, table, one)
            for _, other_table, other in near[table, one]:
                beside[other_table, other].add((table, one))

    def _find_alike(
        self, before: Snapshot, after: Snapshot, table: str, ones: list[str], others: list[str]
    ) -> Iterator[tuple[str, str, float]]:
        """Yield (id, id, how alike) of what can reach the least score."""
        here, there = before.get_table(table), after.get_table(table)
        labels = {one: normalise(here[one,].label) for one in ones}
        other_labels = {one: normalise(there[one,].label) for one in others}
        scores: dict[tuple[str, str], float] = {}
        if len(ones) * len(others) <= _MOST_PAIRS:
            found = find_alike(list(labels.values()), list(other_labels.values()), _LEAST_LABEL)
            scores = {(ones[row], others[column]): score for row, column, score in found}
        else:
            for one, other in self._list_worth(table, labels, other_labels):
                score = rate_labels(labels[one], other_labels[other])
                if score >= _LEAST_LABEL:
                    scores[one, other] = score
        for one, other in _list_by_other_name(before, after, table, labels, other_labels):
            scores[one, other] = max(scores.get((one, other), 0), OTHER_NAME)
        for (one, other), score in sorted(scores.items()):
            yield one, other, score

    def _list_worth(self, table: str, labels: dict[str, str], other_labels: dict[str, str]) -> set[tuple[str, str]]:
        """Return the pairs that share a neighbour, or a word that few labels of each side hold."""
        words, other_words = _group_by_word(labels), _group_by_word(other_labels)
        groups = [
            (ids, other_words[word])
            for word, ids in words.items()
            if len(ids) <= _FEW and 0 < len(other_words.get(word, ())) <= _FEW
        ]
        by_near: defaultdict[Neighbour, list[str]] = defaultdict(list)
        for one in labels:
            for near in self._near[table, one]:
                meant = self._forward(near)
                if meant is not None:
                    by_near[meant].append(one)
        for other in other_labels:
            groups += [(by_near[near], [other]) for near in self._near_after[table, other] if near in by_near]
        return {(one, other) for ids, others in groups for one in ids for other in others}


def _find_best(rated: dict[Pair, Likely], member: int) -> dict[tuple[str, str], tuple[float, int]]:
    """Return of each member of candidates (1: before, 2: after) its greatest score, and how many have it."""
    best: dict[tuple[str, str], tuple[float, int]] = {}
    for pair, likely in rated.items():
        key = (pair[0], pair[member])
        score, n = best.get(key, (0.0, 0))
        if likely.score > score:
            best[key] = (likely.score, 1)
        elif likely.score == score:
            best[key] = (score, n + 1)
    return best


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
