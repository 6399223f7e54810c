"""Maximum matching of slots to people, and the unique partition that names a bottleneck. Pure; imports nothing of ours.

Slots are 0 .. m-1 and people are ids. networkx finds a maximum matching too, but which one hangs on the order of its
sets; here slots are taken in the order given, so the same slots stay empty every time. A slot once filled is never
emptied again, therefore the filled slots are the lexicographically first of all best choices (transversal matroid).

Over-demanded slots (Dulmage & Mendelsohn 1958, Canadian Journal of Mathematics 10): those that some maximum matching
leaves empty, with the people who can fill them, always too few (Hall 1935). The set does not depend on the matching.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

__all__ = [
    "Matching",
    "find_essential_people",
    "find_matching",
    "find_over_demanded",
    "find_reserve_slots",
]


@dataclass
class Matching:
    """A matching that can be made larger.

    Attributes
    ----------
    able : sequence of sequence of str, length m
        Who can fill each slot, in the order of preference.
    person_of : list of str or None, length m
    slot_of : dict of str to int
    """

    able: Sequence[Sequence[str]]
    person_of: list[str | None] = field(default_factory=list)
    slot_of: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.person_of:
            self.person_of = [None] * len(self.able)

    @property
    def size(self) -> int:
        """Number of filled slots."""
        return len(self.slot_of)

    @property
    def empty_slots(self) -> list[int]:
        """Slots without a person, in order."""
        return [slot for slot, person in enumerate(self.person_of) if person is None]

    def fill(self, slot: int, barred: Collection[str] = ()) -> bool:
        """Fill an empty slot along a shortest alternating path that avoids `barred` people; tell whether it worked.

        O(size of `able`).
        """
        free, came_from = self.search(slot, barred)
        if free is not None:
            self.shift_along(free, came_from)
        return free is not None

    def search(self, slot: int, barred: Collection[str] = ()) -> tuple[str | None, dict[str, int]]:
        """Return the nearest person without a slot for this one (None: nobody), and which slot asked for whom."""
        came_from: dict[str, int] = {}
        queue = [slot]
        for current in queue:
            for person in self.able[current]:
                if person in came_from or person in barred:
                    continue
                came_from[person] = current
                taken = self.slot_of.get(person)
                if taken is None:
                    return person, came_from
                queue.append(taken)
        return None, came_from

    def shift_along(self, person: str, came_from: dict[str, int]) -> None:
        """Give the person to the slot that asked for them, the one who stood there to the slot that asked, and on."""
        free: str | None = person
        while free is not None:
            slot = came_from[free]
            previous = self.person_of[slot]
            self.person_of[slot] = free
            self.slot_of[free] = slot
            free = previous


def find_matching(able: Sequence[Sequence[str]], barred: Collection[str] = ()) -> Matching:
    """Return a maximum matching in which the filled slots are the first possible in their order.

    Parameters
    ----------
    able : sequence of sequence of str, length m
        Who can fill each slot.
    barred : collection of str
        People who may not be used.

    Returns
    -------
    Matching

    Notes
    -----
    One augmenting path for each slot: O(m x size of `able`). Whoever was asked in vain is never asked again: no later
    path can lead through them.

    Examples
    --------
    >>> find_matching([["a", "b"], ["a"]]).person_of
    ['b', 'a']
    """
    matching = Matching(able)
    closed = set(barred)
    for slot in range(len(able)):
        free, came_from = matching.search(slot, closed)
        if free is None:
            closed.update(came_from)
        else:
            matching.shift_along(free, came_from)
    return matching


def find_over_demanded(matching: Matching, barred: Collection[str] = ()) -> tuple[list[int], list[str]]:
    """Return the slots that compete for too few people, and these people.

    Parameters
    ----------
    matching : Matching
        A maximum one (among people who are not `barred`).

    Returns
    -------
    slots : list of int
        In order; empty when all slots are filled.
    people : list of str
        Everyone able for one of them, sorted; fewer than `slots` by the number of empty slots.

    Notes
    -----
    Alternating paths from the empty slots: O(size of `able`).
    """
    queue = matching.empty_slots
    slots = set(queue)
    people: set[str] = set()
    for slot in queue:
        for person in matching.able[slot]:
            if person in people or person in barred:
                continue
            people.add(person)
            taken = matching.slot_of[person]  # else the matching would not be maximum
            if taken not in slots:
                slots.add(taken)
                queue.append(taken)
    return sorted(slots), sorted(people)


def find_reserve_slots(matching: Matching, people: Iterable[str]) -> set[int]:
    """Return the slots for which, by alternating paths, someone of `people` without a slot stands ready.

    These are the slots that keep their person, or find another, whoever of their people goes. O(size of `able`).
    """
    users: dict[str, list[int]] = {}
    for slot, able in enumerate(matching.able):
        for person in able:
            users.setdefault(person, []).append(slot)
    queue = [person for person in people if person not in matching.slot_of]
    slots: set[int] = set()
    for person in queue:
        for slot in users.get(person, ()):
            if slot not in slots:
                slots.add(slot)
                holder = matching.person_of[slot]
                if holder is not None:
                    queue.append(holder)
    return slots


def find_essential_people(matching: Matching) -> set[str]:
    """Return the people without whom fewer slots can be filled: those who are in every maximum matching.

    Someone who holds a slot can be spared exactly when alternating paths lead there from a person without one.
    """
    people = {person for able in matching.able for person in able}
    reserve = find_reserve_slots(matching, people)
    return {person for person, slot in matching.slot_of.items() if slot not in reserve}
