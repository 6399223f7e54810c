"""How many absences a team stands, whichever they are: the surplus of Hall's condition, exactly. Pure.

May import coverage, slots, bottleneck and interchange. A need falls when depth - minimum + 1 of its people are away.
All slots of a set X are filled unless more than (people able for X) - (size of X) of these people are away, by Hall's
theorem (1935, Journal of the London Mathematical Society 10); the least surplus over all X that hold a given slot is
found by one matching (Ore's deficiency form of it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from ontology.analysis.cover.coverage import NeedScope
from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.places.bottleneck import Matching, find_essential_people, find_matching
from ontology.analysis.places.slots import Slot
from ontology.model.identity import PeopleCount, PeopleShort

__all__ = [
    "Broken",
    "ScarceSlots",
    "Surplus",
    "Tolerance",
    "compute_surplus",
    "compute_tolerance",
    "find_scarce_slots",
]


@dataclass(frozen=True, slots=True)
class Broken:
    """Something that does not hold now.

    `kind` is "need" (short), "place" (empty) or "together" (a slot of a group without a person of its own);
    `missing` counts people. What does not apply is None.
    """

    kind: Annotated[Literal["need", "place", "together"], "What."]
    place: Annotated[str | None, "Id of the place."]
    competency: Annotated[str | None, "Id of the competency."]
    level: Annotated[int | None, "The level needed."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift."]
    missing: Annotated[PeopleShort, "People missing."]


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Absences that leave intact what holds now, whichever they are; None as told in `compute_tolerance`."""

    needs: Annotated[PeopleCount | None, "Of needs; null where there is none to break."]
    places: Annotated[PeopleCount | None, "Of places; null where not all are filled, or there are none."]
    overall: Annotated[PeopleCount | None, "The lesser of the two; null when something is broken already."]
    broken: Annotated[tuple[Broken, ...], "What is broken already."]


@dataclass(frozen=True, slots=True)
class Surplus:
    """The least of (people able for X) - (size of X) over all non-empty sets X of slots.

    `people` are the first `value` + 1 people, by id, of those able for such an X: without them X cannot be filled.
    Of all sets X that attain the value the one whose people come first is taken.
    """

    value: int
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScarceSlots:
    """A set X of slots with `surplus` = (people able for X) - (size of X); `people` are those able, sorted.

    `kind` holds the slots of the kind for which X is the scarcest, all of them in X.
    """

    kind: tuple[int, ...]
    surplus: int
    slots: tuple[int, ...]
    people: tuple[str, ...]


def find_scarce_slots(able: Sequence[Sequence[str]]) -> list[ScarceSlots]:
    """Return for every kind of slot the scarcest set of slots that holds it, and the largest of these.

    Parameters
    ----------
    able : sequence of sequence of str, length m
        Who can fill each slot; slots with the same people are of one kind.

    Returns
    -------
    list of ScarceSlots
        In the order of kinds; the least surplus among them is the least over all non-empty sets.

    Notes
    -----
    For a kind c the other slots are matched to the people who are not able for c; u of them stay empty; then
    |able(c)| - count(c) - u is the least surplus of the sets that hold c. The largest such set is all slots but
    those with a spare person in reach. One matching for each kind.
    """
    groups: dict[frozenset[str], list[int]] = {}
    for slot, people in enumerate(able):
        groups.setdefault(frozenset(people), []).append(slot)
    names = sorted(frozenset[str]().union(*groups))
    bits = {person: 1 << i for i, person in enumerate(names)}
    masks = [sum(bits[person] for person in kind) for kind in groups]
    kind_of = {slot: number for number, members in enumerate(groups.values()) for slot in members}
    found = []
    for number, (kind, members) in enumerate(groups.items()):
        rest = [slot for slot in range(len(able)) if kind_of[slot] != number]
        matching = find_matching([able[slot] for slot in rest], kind)
        holders = [0] * len(masks)
        for slot, person in zip(rest, matching.person_of, strict=True):
            if person is not None:
                holders[kind_of[slot]] |= bits[person]
        idle = (1 << len(names)) - 1 & ~(masks[number] | sum(holders))
        spared = _find_spared(masks, holders, idle)
        scarce = [slot for slot in range(len(able)) if not spared >> kind_of[slot] & 1]
        reached = 0
        for slot in scarce:
            reached |= masks[kind_of[slot]]
        surplus = len(kind) - len(members) - len(matching.empty_slots)
        people = tuple(names[i] for i in iterate_bits(reached))
        found.append(ScarceSlots(tuple(members), surplus, tuple(scarce), people))
    return found


def _find_spared(able: Sequence[int], holders: Sequence[int], idle: int) -> int:
    """Return the kinds of slots, as a mask, that alternating paths reach from `idle` people; all people are masks."""
    spared, reached, before = 0, idle, -1
    while spared != before:
        before = spared
        for kind, people in enumerate(able):
            if people & reached:
                spared |= 1 << kind
                reached |= holders[kind]
    return spared


def compute_surplus(able: Sequence[Sequence[str]]) -> Surplus | None:
    """Return the least surplus over all non-empty sets of slots; None without slots.

    Parameters
    ----------
    able : sequence of sequence of str, length m
        Who can fill each slot.

    Returns
    -------
    Surplus or None
        `value` is negative when not all slots can be filled; `people` is then empty.

    Notes
    -----
    Every set that attains the least lies within one of `find_scarce_slots`, so the first people are found there.

    Examples
    --------
    >>> compute_surplus([["a", "b", "c"], ["b", "c"]])
    Surplus(value=1, people=('a', 'b'))
    """
    candidates = [(s.surplus, s.people[: max(0, s.surplus + 1)]) for s in find_scarce_slots(able)]
    return Surplus(*min(candidates)) if candidates else None


def compute_tolerance(
    scopes: Sequence[NeedScope], slots: Sequence[Slot], matching: Matching
) -> tuple[Tolerance, tuple[str, ...]]:
    """Return the tolerance and one smallest set of absences that breaks something.

    Parameters
    ----------
    scopes : sequence of NeedScope
        The team's needs, each once for every shift.
    matching : Matching
        A maximum one of the slots.

    Returns
    -------
    tolerance : Tolerance
        `needs`: least depth - minimum over the needs that are not short, None when there is none. `places`: the least
        surplus over all sets of slots (of places and of `together` needs), None without slots or when not all can be
        filled. `overall`: the lesser of the two, None when something is broken or nothing is asked for.
    critical_absences : tuple of str
        Sorted ids: smallest in number, then first in order, of all sets whose absence makes a need short that is not,
        or lowers the number of slots that can be filled. Empty when nothing holds that could break.

    Notes
    -----
    One matching for each kind of slot.
    """
    holding = [scope for scope in scopes if not scope.is_short]
    needs = min((scope.depth - scope.need.minimum for scope in holding), default=None)
    able = [slot.able for slot in slots]
    surplus = compute_surplus(able)
    broken = _get_broken(scopes, slots, matching)
    places = surplus.value if surplus is not None and not matching.empty_slots else None
    known = [value for value in (needs, places) if value is not None]
    overall = min(known) if known and not broken else None
    breaking_sets = [scope.present[: scope.depth - scope.need.minimum + 1] for scope in holding]
    slots_set = _get_breaking_set(able, matching, surplus)
    if slots_set:
        breaking_sets.append(slots_set)
    critical = min(breaking_sets, key=lambda people: (len(people), people), default=())
    return Tolerance(needs, places, overall, broken), critical


def _get_breaking_set(able: Sequence[Sequence[str]], matching: Matching, surplus: Surplus | None) -> tuple[str, ...]:
    """Return the first smallest set of people without whom fewer slots can be filled than now; () for none."""
    if surplus is None or not matching.empty_slots:
        return surplus.people if surplus else ()
    # Where slots compete for some people, each of these is in every best assignment, and missed at once. Without
    # such people only slots that no one can fill are empty, and the others stand by themselves.
    essential = find_essential_people(matching)
    if essential:
        return (min(essential),)
    rest = compute_surplus([people for people in able if people])
    return rest.people if rest else ()


def _get_broken(scopes: Sequence[NeedScope], slots: Sequence[Slot], matching: Matching) -> tuple[Broken, ...]:
    broken = [
        Broken("need", None, s.need.competency, s.need.level, s.need.applies, s.shift, s.need.minimum - s.depth)
        for s in scopes
        if s.is_short
    ]
    empty: dict[tuple[object, ...], list[Slot]] = {}
    for index in matching.empty_slots:
        slot = slots[index]
        empty.setdefault((slot.place, slot.need, slot.shift), []).append(slot)
    for group in empty.values():
        slot, need = group[0], group[0].need
        if need is None:
            broken.append(Broken("place", slot.place, None, None, None, slot.shift, len(group)))
        else:
            broken.append(Broken("together", None, need.competency, need.level, need.applies, slot.shift, len(group)))
    return tuple(broken)
