"""Which records without a counterpart are probably the same: by label and by what hangs on them, in rounds.

Clear winners become pairs first and then count as counterparts themselves: several records may share one label, and
only what hangs on them tells them apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from typing import Final

from ontology.analysis.compare.candidates import find_candidates
from ontology.analysis.compare.neighbours import TOLD, Neighbour, list_near, make_reader
from ontology.analysis.compare.pairs import Pairs
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Likely", "find_likely"]

#: Score from which two records may be the same; how much of it the label makes.
LEAST: Final = 0.7
OF_LABEL: Final = 0.7
#: With a label less alike nothing that hangs on them brings a pair to the least score.
_LEAST_LABEL: Final = (LEAST - (1 - OF_LABEL)) / OF_LABEL

#: Table, id.
Member = tuple[str, str]
#: A record that something is a neighbour of, and the word of the relation.
Beside = tuple[Member, str]
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
    What `find_candidates` takes, and O(log c) for each of c candidates and each time a pair is made beside it.
    """
    search = _Search(before, after, pairs)
    while won := search.choose():
        search.accept(won)
    return sorted(search.found, key=lambda one: (TOLD.index(one.table), one.before, one.after))


@dataclass(slots=True)
class _Side:
    """What is known of the records without a counterpart of one state.

    Attributes
    ----------
    near : of each, its neighbours
    beside : of each record, those without a counterpart that it is a neighbour of
    n_known : how many neighbours of each have a counterpart
    pairs : the candidates that each is a member of
    best : of each its greatest score, and the candidate that has it; None where several have
    """

    near: dict[Member, frozenset[Neighbour]] = field(default_factory=dict)
    beside: defaultdict[Member, list[Beside]] = field(default_factory=lambda: defaultdict(list))
    n_known: dict[Member, int] = field(default_factory=dict)
    pairs: defaultdict[Member, set[Pair]] = field(default_factory=lambda: defaultdict(set))
    best: dict[Member, tuple[float, Pair | None]] = field(default_factory=dict)

    def read(self, state: Snapshot, table: str, ids: Iterable[str]) -> None:
        """Read the neighbours of records."""
        for one in ids:
            self.near[table, one] = list_near(state, table, one)
            for relation, other_table, other in self.near[table, one]:
                self.beside[other_table, other].append(((table, one), relation))

    def find_best(self, member: Member, scores: dict[Pair, float]) -> None:
        """Find the best candidate of a member anew."""
        best, found = 0.0, None
        for pair in self.pairs.get(member, ()):
            score = scores.get(pair, 0.0)
            if score > best:
                best, found = score, pair
            elif score == best:
                found = None
        self.best[member] = (best, found)


class _Search:
    """The pairs under consideration with their scores."""

    def __init__(self, before: Snapshot, after: Snapshot, pairs: Pairs) -> None:
        self.found: list[Likely] = []
        self._pairs = pairs
        self._before, self._after = _Side(), _Side()
        self._labels: dict[Pair, float] = {}
        #: How many neighbours both members have, as far as these have counterparts.
        self._shared: dict[Pair, int] = {}
        #: Candidates: what reaches the least score.
        self._scores: dict[Pair, float] = {}
        #: The same with the greatest first; what is not true any more is passed over.
        self._order: list[tuple[float, int, Pair]] = []
        #: Members of which a candidate changed since the best were found.
        self._changed: tuple[set[Member], set[Member]] = (set(), set())
        for table in TOLD:
            ones, others = pairs.list_unpaired(before, after, table)
            self._before.read(before, table, ones)
            self._after.read(after, table, others)
            near = (self._before.near, self._after.near)
            for one, other, score in find_candidates(before, after, pairs, table, near, _LEAST_LABEL):
                pair = (table, one, other)
                self._labels[pair] = score
                self._before.pairs[table, one].add(pair)
                self._after.pairs[table, other].add(pair)
        self._count_shared()
        for pair in self._labels:
            self._rate(pair)
        heapify(self._order)

    def _count_shared(self) -> None:
        forward, back = make_reader(self._pairs.forward), make_reader(self._pairs.back)
        here = {
            member: frozenset(filter(None, map(forward, self._before.near[member]))) for member in self._before.pairs
        }
        there = {
            member: frozenset(near for near in self._after.near[member] if back(near) is not None)
            for member in self._after.pairs
        }
        for side, known in ((self._before, here), (self._after, there)):
            side.n_known = {member: len(near) for member, near in known.items()}
        self._shared = {
            (table, one, other): len(here[table, one] & there[table, other]) for table, one, other in self._labels
        }

    def choose(self) -> list[Pair]:
        """Return the candidates whose score is strictly the greatest of both members; else the greatest, if any."""
        for side, changed in zip((self._before, self._after), self._changed, strict=True):
            for member in changed:
                side.find_best(member, self._scores)
        touched = {
            pair
            for side, changed in zip((self._before, self._after), self._changed, strict=True)
            for member in changed
            if (pair := side.best[member][1]) is not None
        }
        for changed in self._changed:
            changed.clear()
        won = [
            pair
            for pair in touched
            if self._before.best[pair[0], pair[1]][1] == self._after.best[pair[0], pair[2]][1] == pair
        ]
        if won:
            return won
        while self._order:
            score, _, pair = self._order[0]
            if self._scores.get(pair) == -score:
                return [pair]
            heappop(self._order)
        return []

    def accept(self, won: list[Pair]) -> None:
        """Make pairs, with the scores they won by; what has them for neighbours is rated again."""
        for pair in won:
            table, one, other = pair
            label, overlap = self._labels[pair], self._rate_overlap(pair)
            shown = None if overlap is None else round(overlap, 4)
            self.found.append(Likely(table, one, other, self._scores[pair], round(label, 4), shown))
            self._pairs.add(table, one, other)
            for gone in self._before.pairs.pop((table, one)) | self._after.pairs.pop((table, other)):
                self._let_go(gone)
        again = set[Pair]()
        for pair in won:
            again |= self._count_in(pair)
        for pair in again:
            self._rate(pair, is_first=False)

    def _let_go(self, pair: Pair) -> None:
        """Forget a candidate of which a member has its counterpart."""
        del self._labels[pair], self._shared[pair]
        was_told = self._scores.pop(pair, None) is not None
        for side, changed, member in self._iterate_members(pair):
            if member in side.pairs:
                side.pairs[member].discard(pair)
                if was_told:
                    changed.add(member)

    def _count_in(self, pair: Pair) -> set[Pair]:
        """Count two that are the same now as known neighbours; return the candidates whose scores may differ by it."""
        table, one, other = pair
        here, there = self._before.beside[table, one], self._after.beside[table, other]
        for side, beside in ((self._before, here), (self._after, there)):
            for member, _ in beside:
                if member in side.n_known:
                    side.n_known[member] += 1
        again = {near for member, _ in there for near in self._after.pairs.get(member, ())}
        in_both = set(there)
        for member, relation in here:
            for near in self._before.pairs.get(member, ()):
                again.add(near)
                self._shared[near] += ((near[0], near[2]), relation) in in_both
        return again

    def _rate_overlap(self, pair: Pair) -> float | None:
        """Return which share of what hangs on two is the same, None where nothing does that both states have."""
        table, one, other = pair
        shared = self._shared[pair]
        n_all = self._before.n_known[table, one] + self._after.n_known[table, other] - shared
        return shared / n_all if n_all else None

    def _rate(self, pair: Pair, *, is_first: bool = True) -> None:
        label, overlap = self._labels[pair], self._rate_overlap(pair)
        score = round(label if overlap is None else OF_LABEL * label + (1 - OF_LABEL) * overlap, 4)
        told = score if score >= LEAST else None
        if told == self._scores.get(pair):
            return
        if told is None:
            del self._scores[pair]
        else:
            self._scores[pair] = told
            entry = (-told, TOLD.index(pair[0]), pair)
            if is_first:
                self._order.append(entry)
            else:
                heappush(self._order, entry)
        for _, changed, member in self._iterate_members(pair):
            changed.add(member)

    def _iterate_members(self, pair: Pair) -> Iterable[tuple[_Side, set[Member], Member]]:
        table, one, other = pair
        of_before, of_after = self._changed
        return (self._before, of_before, (table, one)), (self._after, of_after, (table, other))
