"""Slots of places and `together` needs that a plan is to fill: who could fill them, and which stay empty. Pure.

May import presence, slots, bottleneck and learning facts. Each person fills one slot; the slots are taken in the order
of staffing, the heavier first where they have weights, so a matching that leaves the least weight empty is found, and
without weights the same slots stay empty as in staffing (transversal matroid, `places/bottleneck.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from ontology.analysis.cover.presence import Presence
from ontology.analysis.paths.offers import Fact
from ontology.analysis.places.bottleneck import Matching, find_matching, find_over_demanded
from ontology.analysis.places.slots import Slot, list_unsupervised_levels
from ontology.analysis.profiles.appointments import find_appointed
from ontology.analysis.profiles.profile import add_what_it_hangs_on
from ontology.model.records import CoverNeed
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "PLACE_WEIGHT",
    "CanDo",
    "SlotKind",
    "build_kinds",
    "count_empty",
    "count_empty_weight",
    "find_able",
    "find_rivals",
    "group_alike",
]

CanDo = Callable[[str, frozenset[Fact]], bool]
"""Whether a person has all of these levels."""

PLACE_WEIGHT = 3
"""What a missing person for a place weighs when needs weigh their criticality: the default criticality."""


@dataclass(frozen=True)
class SlotKind:
    """`count` equal slots of a place or a `together` need; `facts` is None where nobody can ever be able.

    `people` are those present who belong to its shift, by id; `weight` is what one empty slot weighs.
    """

    place: str | None
    need: CoverNeed | None
    shift: str | None
    count: int
    facts: frozenset[Fact] | None
    people: tuple[str, ...]
    weight: int = 1


def group_alike(kinds: Sequence[SlotKind]) -> list[tuple[int, ...]]:
    """Return the numbers of kinds that ask the same of the same people, together."""
    alike: dict[tuple[frozenset[Fact] | None, tuple[str, ...]], list[int]] = {}
    for number, kind in enumerate(kinds):
        alike.setdefault((kind.facts, kind.people), []).append(number)
    return [tuple(numbers) for numbers in alike.values()]


def find_able(kinds: Sequence[SlotKind], can_do: CanDo) -> list[tuple[str, ...]]:
    """Return for each kind who can fill its slots, by id."""
    return [
        () if kind.facts is None else tuple(person for person in kind.people if can_do(person, kind.facts))
        for kind in kinds
    ]


def _match(kinds: Sequence[SlotKind], able: Sequence[Sequence[str]]) -> tuple[list[int], Matching]:
    order = sorted(range(len(kinds)), key=lambda number: -kinds[number].weight)
    kind_of = [number for number in order for _ in range(kinds[number].count)]
    return kind_of, find_matching([able[number] for number in kind_of])


def count_empty_weight(kinds: Sequence[SlotKind], able: Sequence[Sequence[str]]) -> int:
    """Return the least weight of slots that stay empty. O(slots x able pairs)."""
    kind_of, matching = _match(kinds, able)
    return sum(kinds[kind_of[slot]].weight for slot in matching.empty_slots)


def count_empty(kinds: Sequence[SlotKind], able: Sequence[Sequence[str]]) -> list[int]:
    """Return how many slots of each kind stay empty in one best matching. O(slots x able pairs)."""
    kind_of, matching = _match(kinds, able)
    empty = [0] * len(kinds)
    for slot in matching.empty_slots:
        empty[kind_of[slot]] += 1
    return empty


def find_rivals(kinds: Sequence[SlotKind], able: Sequence[Sequence[str]]) -> list[tuple[tuple[int, ...], int]]:
    """Return the sets of kinds that compete for too few people, and how many of their slots stay empty.

    All kinds that some best matching leaves empty, in sets that have nobody in common. O(slots x able pairs).
    """
    kind_of, matching = _match(kinds, able)
    missing = [0] * len(kinds)
    for slot in matching.empty_slots:
        missing[kind_of[slot]] += 1
    left = sorted({kind_of[slot] for slot in find_over_demanded(matching)[0]})
    sets = []
    while left:
        rivals, people, before = {left[0]}, set(able[left[0]]), 0
        while len(rivals) > before:
            before = len(rivals)
            rivals |= {number for number in left if people.intersection(able[number])}
            people = {person for number in rivals for person in able[number]}
        left = [number for number in left if number not in rivals]
        sets.append((tuple(sorted(rivals)), sum(missing[number] for number in rivals)))
    return sets


def build_kinds(presence: Presence, slots: Sequence[Slot], *, is_weighted: bool) -> tuple[SlotKind, ...]:
    """Return the slots of a team by kind, in their order.

    Parameters
    ----------
    is_weighted : bool
        Whether an empty slot weighs the criticality of its need (3 for a place), else 1.
    """
    groups: dict[tuple[str | None, CoverNeed | None, str | None], int] = {}
    for slot in slots:
        key = (slot.place, slot.need, slot.shift)
        groups[key] = groups.get(key, 0) + 1
    kinds = []
    for (place_id, need, shift), count in groups.items():
        people = tuple(p.id for p in presence.get_scope(shift) if p.id in presence.present_ids)
        if need is not None:
            asked, is_open = [(need.competency, need.level)], shift is not None or need.applies == "team"
            people = people if is_open else ()
            facts: frozenset[Fact] | None = ask_for(presence.snapshot, asked)
        else:
            role_id = presence.snapshot.places[place_id or ""].role
            asked = list_unsupervised_levels(presence.snapshot, role_id)
            facts = ask_for(presence.snapshot, asked) if presence.snapshot.get_requirements(role_id) else None
        people = tuple(find_appointed(presence.snapshot, people, asked, presence.on))
        weight = (PLACE_WEIGHT if need is None else need.criticality) if is_weighted else 1
        kinds.append(SlotKind(place_id, need, shift, count, facts, people, weight))
    return tuple(kinds)


def ask_for(snapshot: Snapshot, levels: Iterable[Fact]) -> frozenset[Fact]:
    """Return all that must be held so that these levels count: what they hang on, too."""
    return frozenset(add_what_it_hangs_on(snapshot, dict(levels)).items())
