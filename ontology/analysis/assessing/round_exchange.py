"""Fewer interviews by exchange: two assessors deal out anew what they have between them, again and again. Pure.

It keeps every rule, who is left out and the largest load, and never has more pairs; it proves
nothing. What two have between them is dealt out exactly: person by person, over all loads of the first of them. Equal
deals are taken too, one of them by lot with a fixed seed, so that the next two find something to better.
"""

from __future__ import annotations

import math
import random
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from ontology.analysis.assessing.round_problem import Assignment, RoundProblem
from ontology.analysis.engine.deadline import Deadline

__all__ = ["exchange"]

#: How many times two deal out anew, for each row; and how many times between two looks at the clock.
_TRIES_PER_ROW: Final = 10
_TRIES_PER_LOOK: Final = 64
#: Load of the first -> (pairs, load before the last person, what the first has of theirs).
_Layer = dict[int, tuple[int, int, frozenset[int]]]


@dataclass(frozen=True, slots=True)
class _Shared:
    """The rows of one person that either of two assessors could do; and whether each sees that person anyway."""

    rows: tuple[int, ...]
    is_with_first: bool
    is_with_second: bool


def exchange(problem: RoundProblem, largest: int, start: Assignment, deadline: Deadline) -> Assignment:
    """Return an assignment with no more pairs.

    Parameters
    ----------
    largest : int
        Minutes that nobody may be above.
    start : Assignment
        One that keeps every rule.
    deadline : Deadline
        Without it, or before it, the same start gives the same assignment.

    Notes
    -----
    A try takes O(p l 2^k) for p people of the two, k rows of each, and l loads in the unit of all minutes.
    """
    neighbours = sorted({two for row in problem.rows for two in combinations(row.able, 2)})
    if not neighbours:
        return start
    lots = random.Random(0)
    dealing = _Dealing(problem, largest, start, lots)
    for turn in range(_TRIES_PER_ROW * len(problem.rows)):
        if turn % _TRIES_PER_LOOK == 0 and deadline.is_over():
            break
        dealing.deal(*lots.choice(neighbours))
    return tuple([tuple(sorted(chosen)) for chosen in dealing.chosen])


class _Dealing:
    def __init__(self, problem: RoundProblem, largest: int, start: Assignment, lots: random.Random) -> None:
        self.chosen = [set(chosen) for chosen in start]
        self._problem, self._lots = problem, lots
        self._unit = math.gcd(*(row.minutes for row in problem.rows)) or 1
        self._room = {i: min(largest, minutes) // self._unit for i, minutes in problem.capacity.items()}
        self._work = [row.minutes // self._unit for row in problem.rows]
        self._able = [frozenset(row.able) for row in problem.rows]
        self._clashes = {*problem.clashes, *(pair[::-1] for pair in problem.clashes)}
        self._rows: defaultdict[str, set[int]] = defaultdict(set)
        self._opened: Counter[tuple[str, str]] = Counter()
        for number, chosen in enumerate(start):
            for assessor in chosen:
                self._rows[assessor].add(number)
                self._opened[problem.rows[number].person, assessor] += 1

    def deal(self, first: str, second: str) -> None:
        """Let two assessors deal out anew what they have between them, with the fewest pairs."""
        shared = [group for group in self._list_shared(first, second) if group.rows]
        moved = {number for group in shared for number in group.rows}
        work = sum(self._work[number] for number in moved)
        kept = [sum(self._work[n] for n in self._rows[i] - moved) for i in (first, second)]
        most = self._room[first] - kept[0]
        least = work - (self._room[second] - kept[1])
        self._lots.shuffle(shared)
        layers: list[_Layer] = [{0: (0, 0, frozenset())}]
        for group in shared:
            layers.append(self._add_person(layers[-1], group, most))
        allowed = {load: state[0] for load, state in layers[-1].items() if load >= least}
        fewest = min(allowed.values())
        load = self._lots.choice([load for load, pairs in allowed.items() if pairs == fewest])
        for group, layer in zip(reversed(shared), reversed(layers), strict=False):
            _, load, to_first = layer[load]
            for number in group.rows:
                self._give(number, *((second, first) if number in to_first else (first, second)))

    def _list_shared(self, first: str, second: str) -> Iterator[_Shared]:
        """Yield what can be dealt out, person by person."""
        people: defaultdict[str, list[int]] = defaultdict(list)
        rows = self._problem.rows
        for number in sorted(self._rows[first] | self._rows[second]):
            people[rows[number].person].append(number)
        for person, numbers in people.items():
            barred = {i for i in (first, second) if (person, i) in self._clashes and self._opened[i, person]}
            free = [number for number in numbers if self._is_free(number, {first, second}, barred)]
            fixed = [self.chosen[number] for number in numbers if number not in free]
            yield _Shared(tuple(free), any(first in c for c in fixed), any(second in c for c in fixed))

    def _is_free(self, number: int, two: set[str], barred: set[str]) -> bool:
        """Whether a row that one of the two has could be the other's."""
        other = two - self.chosen[number]
        return len(other) == 1 and not other & barred and other <= self._able[number]

    def _add_person(self, before: _Layer, group: _Shared, most: int) -> _Layer:
        """Return the least pairs for every load of the first, with one person more."""
        options = list(self._list_options(group.rows))
        after: _Layer = {}
        for load, (pairs, _, _) in before.items():
            for work, to_first in options:
                new = load + work
                is_with_first = bool(to_first) or group.is_with_first
                is_with_second = len(to_first) < len(group.rows) or group.is_with_second
                value = pairs + is_with_first + is_with_second
                if new <= most and (new not in after or value < after[new][0]):
                    after[new] = value, load, to_first
        return after

    def _list_options(self, numbers: Sequence[int]) -> Iterator[tuple[int, frozenset[int]]]:
        """Yield work and rows that the first could have: none, all, and one choice for each other work."""
        found: dict[int, frozenset[int]] = {0: frozenset()}
        for number in numbers:
            for work, rows in list(found.items()):
                found.setdefault(work + self._work[number], rows | {number})
        yield 0, frozenset()
        yield sum(self._work[number] for number in numbers), frozenset(numbers)
        yield from ((work, rows) for work, rows in found.items() if 0 < len(rows) < len(numbers))

    def _give(self, number: int, from_whom: str, to: str) -> None:
        """Let one of the two have a row."""
        if to in self.chosen[number]:
            return
        person = self._problem.rows[number].person
        self.chosen[number].remove(from_whom)
        self.chosen[number].add(to)
        self._rows[from_whom].remove(number)
        self._rows[to].add(number)
        self._opened[person, from_whom] -= 1
        self._opened[person, to] += 1
