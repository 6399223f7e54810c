"""Slots and people in classes: slots with the same able people, people with the same able slots. Pure.

Two people who can fill the same slots are interchangeable, so a matching of people is a flow between classes, and a
question about every set of absences needs to be asked only once for each combination of classes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ontology.analysis.engine.bits import iterate_bits

__all__ = ["ClassFlow"]


@dataclass
class ClassFlow:
    """A maximum flow from classes of people to kinds of slots; each person fills one slot at the most.

    Attributes
    ----------
    able : tuple of int
        For each kind of slot the classes that can fill it, as a mask.
    flow : list of dict of int to int
        For each kind, how many people of which class fill it; never 0.
    users : list of int
        For each kind, the classes with a flow to it, as a mask.
    spare : list of int
        For each class, how many of its people fill nothing.
    """

    able: tuple[int, ...]
    flow: list[dict[int, int]]
    users: list[int]
    spare: list[int]

    @classmethod
    def build(cls, able: Sequence[Iterable[int]], demand: Sequence[int], sizes: Sequence[int]) -> ClassFlow:
        """Return a maximum flow.

        Parameters
        ----------
        able : sequence of iterable of int, length k
            For each kind of slot the classes that can fill it.
        demand : sequence of int, length k
            How many slots there are of each kind.
        sizes : sequence of int, length c
            How many people there are of each class.

        Notes
        -----
        One augmenting path for each slot: O(slots x (k + c)).
        """
        masks = tuple(sum(1 << c for c in set(classes)) for classes in able)
        found = cls(masks, [{} for _ in masks], [0] * len(masks), list(sizes))
        for kind, slots in enumerate(demand):
            for _ in range(slots):
                if not found._supply(kind):
                    break
        return found

    def copy(self) -> ClassFlow:
        """Return an independent copy. O(k + c)."""
        return ClassFlow(self.able, [dict(row) for row in self.flow], list(self.users), list(self.spare))

    def find_spared(self) -> int:
        """Return the classes, as a mask, of which one person may go and the flow keeps its size.

        Alternating paths from people who fill nothing, all classes in one pass: O(k x rounds) operations on masks.
        """
        spared = sum(1 << c for c, count in enumerate(self.spare) if count)
        waiting = list(range(len(self.able)))
        is_growing = True
        while is_growing:
            is_growing, rest = False, []
            for kind in waiting:
                if self.able[kind] & spared:
                    is_growing = is_growing or bool(self.users[kind] & ~spared)
                    spared |= self.users[kind]
                else:
                    rest.append(kind)
            waiting = rest
        return spared

    def remove(self, person_class: int) -> None:
        """Take away one person of a class that `find_spared` names; the flow keeps its size."""
        if self.spare[person_class]:
            self.spare[person_class] -= 1
            return
        for kind in range(len(self.able)):
            if self.users[kind] >> person_class & 1:
                self._change(kind, person_class, -1)
                if self._supply(kind):
                    return
                self._change(kind, person_class, 1)
        raise ValueError(f"the flow has nobody to spare for class {person_class}")

    def _change(self, kind: int, person_class: int, by: int) -> None:
        count = self.flow[kind].get(person_class, 0) + by
        if count:
            self.flow[kind][person_class] = count
            self.users[kind] |= 1 << person_class
        else:
            del self.flow[kind][person_class]
            self.users[kind] &= ~(1 << person_class)

    def _supply(self, kind: int) -> bool:
        """Bring one person more to a kind of slot along a shortest alternating path; tell whether there is one."""
        came_from: dict[int, int] = {}  # class -> kind that asked for it
        given_by: dict[int, int] = {}  # kind -> class it would give up
        reached_kinds, reached = 1 << kind, 0
        queue = [kind]
        for current in queue:
            fresh = self.able[current] & ~reached
            reached |= fresh
            for person_class in iterate_bits(fresh):
                came_from[person_class] = current
                if self.spare[person_class]:
                    self._shift_along(person_class, kind, came_from, given_by)
                    return True
                for other in range(len(self.able)):
                    if self.users[other] >> person_class & 1 and not reached_kinds >> other & 1:
                        reached_kinds |= 1 << other
                        given_by[other] = person_class
                        queue.append(other)
        return False

    def _shift_along(self, person_class: int, goal: int, came_from: dict[int, int], given_by: dict[int, int]) -> None:
        self.spare[person_class] -= 1
        kind = came_from[person_class]
        self._change(kind, person_class, 1)
        while kind != goal:
            freed = given_by[kind]
            self._change(kind, freed, -1)
            kind = came_from[freed]
            self._change(kind, freed, 1)
