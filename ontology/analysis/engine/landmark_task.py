"""A delete-free problem in the form in which it is solved: no start, sets of facts as bit sets.

May import bits only. Sets of facts are Python integers, because union, intersection and inclusion of a few
hundred facts are then single steps.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ontology.analysis.engine.bits import iterate_bits

__all__ = ["ReducedTask", "join_masks", "select_operators"]


@dataclass
class ReducedTask:
    """What is left of a problem: nothing is held at the start, every operator can be applied and may be useful.

    Attributes
    ----------
    sources : list of int, length m
        Operator of the problem behind each operator here; paid ones sorted by id, then the free ones.
    paid_count : int
        Operators 0 .. paid_count - 1 can be chosen, the rest are free.
    aims : list of tuple of int
        Cost vectors of the paid operators.
    conditions, effects : list of tuple of int, length m
        A minimal set of conditions; effects that were not there before.
    implied : list of int, length m
        Bit set of all facts that must be there before the operator is applied (holds the conditions).
    goals : list of int
        Facts that every plan must reach, the implied ones included.
    side_rows : list of (dict, int)
        Coefficients of paid operators, upper bound.
    fact_count : int
    needs, gives : list of int, length m
        `conditions` and `effects` as bit sets.
    achievers : list of list of int, length fact_count
        Operators that give the fact.
    """

    sources: list[int]
    paid_count: int
    aims: list[tuple[int, ...]]
    conditions: list[tuple[int, ...]]
    effects: list[tuple[int, ...]]
    implied: list[int]
    goals: list[int]
    side_rows: list[tuple[dict[int, int], int]]
    fact_count: int
    needs: list[int] = field(init=False)
    gives: list[int] = field(init=False)
    achievers: list[list[int]] = field(init=False)

    def __post_init__(self) -> None:
        bits = [1 << fact for fact in range(self.fact_count)]
        self.needs = [join_masks(bits, facts) for facts in self.conditions]
        self.gives = [join_masks(bits, facts) for facts in self.effects]
        self.achievers = [[] for _ in bits]
        for operator, facts in enumerate(self.effects):
            for fact in facts:
                self.achievers[fact].append(operator)

    def get_reached(self, operators: Iterable[int]) -> int:
        """Return the bit set of facts that `operators` and the free operators reach. O(rounds x operators)."""
        reached = 0
        waiting = [*operators, *range(self.paid_count, len(self.sources))]
        needs, gives = self.needs, self.gives
        while True:
            before = reached
            still: list[int] = []
            for operator in waiting:
                if needs[operator] & ~reached:
                    still.append(operator)
                else:
                    reached |= gives[operator]
            if reached == before or not still:
                return reached
            waiting = still


def join_masks(masks: Sequence[int], facts: Iterable[int]) -> int:
    """Return the union of the bit sets at the positions `facts`."""
    union = 0
    for fact in facts:
        union |= masks[fact]
    return union


def select_operators(task: ReducedTask, operators: list[int]) -> ReducedTask:
    """Return `task` with these operators alone, without those of no use for the goals; facts renumbered."""
    achievers: list[list[int]] = [[] for _ in range(task.fact_count)]
    for operator in operators:
        for fact in task.effects[operator]:
            achievers[fact].append(operator)
    is_useful = [False] * task.fact_count
    used: set[int] = set()
    stack = list(task.goals)
    for goal in stack:
        is_useful[goal] = True
    while stack:
        for operator in achievers[stack.pop()]:
            if operator not in used:
                used.add(operator)
                for fact in task.conditions[operator]:
                    if not is_useful[fact]:
                        is_useful[fact] = True
                        stack.append(fact)
    number = {fact: place for place, fact in enumerate(fact for fact, useful in enumerate(is_useful) if useful)}
    is_same = len(number) == task.fact_count
    chosen = [operator for operator in operators if operator in used]
    paid = [operator for operator in chosen if operator < task.paid_count]
    place = {operator: position for position, operator in enumerate(paid)}

    def renumber(mask: int) -> int:
        return mask if is_same else sum(1 << number[fact] for fact in iterate_bits(mask) if fact in number)

    return ReducedTask(
        sources=[task.sources[operator] for operator in chosen],
        paid_count=len(paid),
        aims=[task.aims[operator] for operator in paid],
        conditions=[tuple(number[fact] for fact in task.conditions[operator]) for operator in chosen],
        effects=[tuple(number[fact] for fact in task.effects[operator] if is_useful[fact]) for operator in chosen],
        implied=[renumber(task.implied[operator]) for operator in chosen],
        goals=[number[goal] for goal in task.goals],
        side_rows=[
            ({place[operator]: value for operator, value in row.items() if operator in place}, bound)
            for row, bound in task.side_rows
        ],
        fact_count=len(number),
    )
