"""How many pairs and triples of absences break something: exact counts by classes of people. Pure.

May import coverage, bottleneck, tolerance and interchange. A set of absences is safe when no need that holds becomes
short and as many slots can be filled as before. Only people of scarce slots (Hall surplus below the size of the set)
or of needs with as little to spare can ever matter; of these, people with the same slots and needs are counted as one
class. All others add their number and nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import comb
from typing import Annotated, Final

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.places.bottleneck import Matching, find_over_demanded
from ontology.analysis.places.interchange import ClassFlow
from ontology.analysis.places.tolerance import ScarceSlots, find_scarce_slots
from ontology.model.identity import CountOf, TellsOf

__all__ = ["PairsBreaking", "TriplesBreaking", "count_breaking"]

_PAIRS_LIMIT: Final = 20_000
"""Most pairs of classes of which every triple is looked at."""


@dataclass(frozen=True, slots=True)
class PairsBreaking:
    """How many of all `pairs` of people present break something when both are away; `share` of them, None of none."""

    breaking: Annotated[int, CountOf("pairs", of="pairs"), "Pairs that do."]
    pairs: Annotated[int, CountOf("pairs"), "All pairs of people present."]
    share: Annotated[float | None, TellsOf("breaking"), "Share of them, 0..1; null when there is no pair."]


@dataclass(frozen=True, slots=True)
class TriplesBreaking:
    """How many of all `triples` of people present break something when all three are away.

    `breaking` and `share` are None when there are too many classes of people to look at every combination.
    """

    breaking: Annotated[
        int | None,
        CountOf("triples", of="triples"),
        "Triples that do; null when there are too many kinds of people to count.",
    ]
    triples: Annotated[int, CountOf("triples"), "All triples of people present."]
    share: Annotated[
        float | None, TellsOf("breaking"), "Share of them, 0..1; null when there is none, or it was not counted."
    ]


def count_breaking(
    holding: Sequence[NeedScope], matching: Matching, people: Sequence[str]
) -> tuple[PairsBreaking, TriplesBreaking]:
    """Return how many pairs and triples of absences break something.

    Parameters
    ----------
    holding : sequence of NeedScope
        Needs that are not short.
    matching : Matching
        A maximum one of slots to people.
    people : sequence of str
        Who may fall away: everyone present.

    Returns
    -------
    pairs : PairsBreaking
    triples : TriplesBreaking

    Notes
    -----
    One matching for each kind of slot; then for pairs one pass over alternating paths for each class of people who
    matter, for triples one for each pair of classes. No triples where there are more than 20,000 pairs of classes.
    """
    rest = _Rest.build(matching)
    pairs, triples = comb(len(people), 2), comb(len(people), 3)
    breaking = pairs - _Classes(holding, rest, people, size=2).count_safe()[2]
    classes = _Classes(holding, rest, people, size=3)
    found = PairsBreaking(breaking, pairs, breaking / pairs if pairs else None)
    if comb(len(classes.sizes), 2) > _PAIRS_LIMIT:
        return found, TriplesBreaking(None, triples, None)
    breaking = triples - classes.count_safe()[3]
    return found, TriplesBreaking(breaking, triples, breaking / triples if triples else None)


@dataclass(frozen=True)
class _Rest:
    """The slots that do not compete, all of them filled, and who can fill them.

    `alone` are the people of the slots that compete, all in use whatever the assignment; `scarce` the scarcest set for
    each kind of slot.
    """

    alone: frozenset[str]
    able: list[tuple[str, ...]]
    scarce: list[ScarceSlots]

    @classmethod
    def build(cls, matching: Matching) -> _Rest:
        competing, needed = find_over_demanded(matching)
        alone, crowded = frozenset(needed), set(competing)
        able = [
            tuple(person for person in people if person not in alone)
            for slot, people in enumerate(matching.able)
            if slot not in crowded
        ]
        return cls(alone, able, find_scarce_slots(able))


class _Classes:
    """People who matter to sets of `size` absences, in classes of equal effect.

    `sizes` counts the people of each class, `free` those whose absence never matters. Those who break something alone
    are in neither: no safe set holds one of them.
    """

    def __init__(self, holding: Sequence[NeedScope], rest: _Rest, people: Sequence[str], *, size: int) -> None:
        self.size = size
        scarce = {slot for part in rest.scarce if part.surplus < size for slot in part.kind}
        able_of: dict[tuple[str, ...], int] = {}
        for slot in sorted(scarce):
            able_of[rest.able[slot]] = able_of.get(rest.able[slot], 0) + 1
        kinds = list(able_of)
        tight = [scope for scope in holding if scope.depth - scope.need.minimum < size]
        self.slack = [scope.depth - scope.need.minimum for scope in tight]
        by_effect: dict[tuple[int, int], int] = {}
        kinds_of, needs_of = _get_masks(kinds), _get_masks([scope.present for scope in tight])
        for person in people:
            if person not in rest.alone:
                effect = kinds_of.get(person, 0), needs_of.get(person, 0)
                by_effect[effect] = by_effect.get(effect, 0) + 1
        self.free = by_effect.pop((0, 0), 0)
        effects = list(by_effect)
        self.sizes = [by_effect[effect] for effect in effects]
        self.sums = [0, *accumulate(self.sizes)]
        self.classes_of_need = [
            sum(1 << c for c, (_, needs) in enumerate(effects) if needs >> i & 1) for i in range(len(tight))
        ]
        # people with the same slots are one class of the flow, whatever needs they meet
        by_slots: dict[int, int] = {}
        for (slots_mask, _), count in zip(effects, self.sizes, strict=True):
            if slots_mask:
                by_slots[slots_mask] = by_slots.get(slots_mask, 0) + count
        index = {mask: i for i, mask in enumerate(by_slots)}
        self.flow_class = [index.get(mask) for mask, _ in effects]
        self.members = [sum(1 << c for c, own in enumerate(self.flow_class) if own == i) for i in index.values()]
        able = [[index[mask] for mask in by_slots if mask >> kind & 1] for kind in range(len(kinds))]
        self.flow = ClassFlow.build(able, list(able_of.values()), list(by_slots.values()))

    def count_safe(self) -> list[int]:
        """Return how many safe sets of 0, 1, ... `size` people there are."""
        among = [1] + [0] * self.size
        self._add_safe(among, 1, 0, len(self.sizes), self.flow, [0] * len(self.sizes))
        return [
            sum(among[part] * comb(self.free, whole - part) for part in range(whole + 1))
            for whole in range(self.size + 1)
        ]

    def _add_safe(self, among: list[int], ways: int, taken: int, last: int, flow: ClassFlow, counts: list[int]) -> None:
        """Add the safe sets that hold people as in `counts` and at least one more; there are `ways` to choose those.

        Classes are taken from high to low, `last` is the lowest so far, so that every combination comes once.
        """
        harmful = self._get_harmful(flow, counts)
        if last < len(self.sizes) and not harmful >> last & 1:
            size, count = self.sizes[last], counts[last]
            more = ways * comb(size, count + 1) // comb(size, count)
            self._take(among, more, taken, last, flow, counts)
        if taken + 1 == self.size:
            lower = harmful & ((1 << last) - 1)
            among[self.size] += ways * (self.sums[last] - sum(self.sizes[c] for c in iterate_bits(lower)))
            return
        for c in range(last - 1, -1, -1):
            if not harmful >> c & 1:
                self._take(among, ways * self.sizes[c], taken, c, flow, counts)

    def _take(self, among: list[int], ways: int, taken: int, c: int, flow: ClassFlow, counts: list[int]) -> None:
        among[taken + 1] += ways
        if not ways or taken + 1 == self.size:
            return
        after, own = flow, self.flow_class[c]
        if own is not None:
            after = flow.copy()
            after.remove(own)
        counts[c] += 1
        self._add_safe(among, ways, taken + 1, c, after, counts)
        counts[c] -= 1

    def _get_harmful(self, flow: ClassFlow, counts: Sequence[int]) -> int:
        """Return the classes, as a mask, of which one more absence breaks something."""
        harmful = 0
        for own in iterate_bits(~flow.find_spared() & ((1 << len(self.members)) - 1)):
            harmful |= self.members[own]
        for slack, classes in zip(self.slack, self.classes_of_need, strict=True):
            if slack == sum(counts[c] for c in iterate_bits(classes) if counts[c]):
                harmful |= classes
        return harmful


def _get_masks(groups: Sequence[Sequence[str]]) -> dict[str, int]:
    masks: dict[str, int] = {}
    for i, group in enumerate(groups):
        for person in group:
            masks[person] = masks.get(person, 0) | 1 << i
    return masks
