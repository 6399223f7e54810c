"""Make a delete-free problem small before it is solved, without losing its optimum.

May import the relaxed problem only. Sets of facts are Python integers used as bit sets, because union,
intersection and inclusion of a few hundred facts are then single machine-level operations.
Fact landmarks by greatest fixpoint: Keyder, Richter & Helmert 2010 (ECAI), after Zhu & Geffner 2003.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from ontology.analysis.relaxed import RelaxedProblem, get_closure, get_relevant_operators

__all__ = ["ReducedTask", "build_task", "iterate_bits", "reduce_task"]

_ROUND_PAYS = 0.98
"""Another round of reduction follows while the last one left at most this share of the operators."""


def iterate_bits(mask: int) -> Iterator[int]:
    """Yield the members of a bit set in rising order."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


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
        self.needs = [_join(bits, facts) for facts in self.conditions]
        self.gives = [_join(bits, facts) for facts in self.effects]
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


def _join(masks: Sequence[int], facts: Iterable[int]) -> int:
    """Return the union of the bit sets at the positions `facts`."""
    union = 0
    for fact in facts:
        union |= masks[fact]
    return union


def _follow_free(task: ReducedTask) -> list[int]:
    """Return for each fact the facts that follow from it alone by free operators (itself included)."""
    follow = [1 << fact for fact in range(task.fact_count)]
    for operator in range(task.paid_count, len(task.sources)):
        if len(task.conditions[operator]) == 1:
            follow[task.conditions[operator][0]] |= task.gives[operator]
    while True:
        longer = [_join(follow, iterate_bits(mask)) for mask in follow]
        if longer == follow:
            return follow
        follow = longer


def _find_landmarks(task: ReducedTask) -> list[int]:
    """Return for each fact the facts that hold whenever it does (itself included); a greatest fixpoint."""
    conditions, gives, achievers = task.conditions, task.gives, task.achievers
    everything = (1 << task.fact_count) - 1
    landmarks = [everything] * task.fact_count
    before = [everything if facts else 0 for facts in conditions]
    users: list[list[int]] = [[] for _ in landmarks]
    for operator, facts in enumerate(conditions):
        for fact in facts:
            users[fact].append(operator)
    changed = {
        fact for facts, given in zip(conditions, task.effects, strict=True) if not facts for fact in given
    }
    while changed:
        touched: set[int] = set()
        for fact in sorted(changed):
            common = everything
            for operator in achievers[fact]:
                common &= before[operator] | gives[operator]
            if common != landmarks[fact]:
                landmarks[fact] = common
                touched.update(users[fact])
        changed = set()
        for operator in touched:
            mask = _join(landmarks, conditions[operator])
            if mask != before[operator]:
                before[operator] = mask
                changed.update(task.effects[operator])
    return landmarks


def _find_dominated(task: ReducedTask) -> set[int]:
    """Return paid operators that another one, better by cost and then id, can stand in for in every plan."""
    needs, gives, implied = task.needs, task.gives, task.implied
    limits = [row for row, _ in task.side_rows]
    dominated: set[int] = set()
    kept: list[list[int]] = [[] for _ in range(task.fact_count)]
    for operator in sorted(range(task.paid_count), key=lambda index: (task.aims[index], index)):
        mask, before, effects = gives[operator], implied[operator], task.effects[operator]
        for other in min((kept[fact] for fact in effects), key=len, default=()):
            if (
                not mask & ~gives[other]
                and not needs[other] & ~before
                and all(row.get(other, 0) <= row.get(operator, 0) for row in limits)
            ):
                dominated.add(operator)
                break
        else:
            for fact in effects:
                kept[fact].append(operator)
    return dominated


def build_task(problem: RelaxedProblem, goals: frozenset[int]) -> ReducedTask:
    """Return the part of `problem` that can matter for reaching `goals`, and nothing cleverer.

    Parameters
    ----------
    problem : RelaxedProblem
    goals : frozenset of int
        Goals to keep; all of them can be reached, none is reached for nothing.

    Notes
    -----
    What is held at the start (free operators included) is gone from conditions and effects; carry-over operators
    with one condition are folded into the effects of the others. O(size).
    """
    held = get_closure(problem, ())
    free = set(problem.free_operators)
    order = sorted(
        get_relevant_operators(problem), key=lambda index: (index in free, problem.operator_ids[index])
    )
    facts = sorted({*goals, *(fact for index in order for fact in problem.conditions[index])} - held)
    number = {fact: position for position, fact in enumerate(facts)}
    paid = [index for index in order if index not in free]
    position = {index: place for place, index in enumerate(order)}
    task = ReducedTask(
        sources=order,
        paid_count=len(paid),
        aims=[tuple(aim[index] for aim in problem.aims) for index in paid],
        conditions=[
            tuple(sorted(number[fact] for fact in problem.conditions[index] if fact in number))
            for index in order
        ],
        effects=[
            tuple(sorted(number[fact] for fact in problem.effects[index] if fact in number))
            for index in order
        ],
        implied=[],
        goals=sorted(number[goal] for goal in goals),
        side_rows=[
            (
                {position[index]: value for index, value in row.coefficients if index in position and value},
                row.upper_bound,
            )
            for row in problem.side_rows
        ],
        fact_count=len(facts),
    )
    task.implied = list(task.needs)
    if len(paid) == len(order):
        return task
    follow = _follow_free(task)
    task.effects = [tuple(iterate_bits(_join(follow, facts))) for facts in task.effects]
    return _select(
        task, [index for index in range(len(order)) if index < len(paid) or len(task.conditions[index]) > 1]
    )


def reduce_task(task: ReducedTask, operators: Iterable[int]) -> ReducedTask:
    """Return a smaller task whose optimal plans are those of `task` with none but `operators` chosen.

    Parameters
    ----------
    task : ReducedTask
    operators : iterable of int
        Paid operators that may be chosen; with the free ones they reach all goals.

    Returns
    -------
    ReducedTask
        The plans that are best (aims in order, then fewest operators, then the lexicographically smallest sorted
        ids) are the same, provided that plan lies within `operators`.

    Notes
    -----
    Repeats while it pays: find fact landmarks; drop conditions that follow from others, effects that must be there
    before, facts and operators of no use for the goals, and operators that a cheaper one with fewer conditions and
    more effects can stand in for. A round: O(size x fact_count / word length), and the pairs of operators that
    share an effect.
    """
    task = _select(task, [*sorted(operators), *range(task.paid_count, len(task.sources))])
    while True:
        landmarks = _find_landmarks(task)
        goals = list(iterate_bits(_join(landmarks, task.goals)))
        for operator, facts in enumerate(task.conditions):
            before = task.implied[operator] | _join(landmarks, facts)
            task.implied[operator] = before
            if len(facts) > 1:
                minimal = task.needs[operator]
                for fact in facts:
                    if minimal >> fact & 1:
                        # A condition that another condition implies is superfluous.
                        minimal &= ~(landmarks[fact] & ~(1 << fact))
                task.needs[operator] = minimal
                task.conditions[operator] = tuple(fact for fact in facts if minimal >> fact & 1)
            if task.gives[operator] & before:
                task.gives[operator] &= ~before
                task.effects[operator] = tuple(iterate_bits(task.gives[operator]))
        task.goals = goals
        dominated = _find_dominated(task)
        live = [
            operator for operator, facts in enumerate(task.effects) if facts and operator not in dominated
        ]
        smaller = _select(task, live)
        if not smaller.sources or len(smaller.sources) > _ROUND_PAYS * len(task.sources):
            return smaller
        task = smaller


def _select(task: ReducedTask, operators: list[int]) -> ReducedTask:
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
    number = {
        fact: place for place, fact in enumerate(fact for fact, useful in enumerate(is_useful) if useful)
    }
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
        effects=[
            tuple(number[fact] for fact in task.effects[operator] if is_useful[fact]) for operator in chosen
        ],
        implied=[renumber(task.implied[operator]) for operator in chosen],
        goals=[number[goal] for goal in task.goals],
        side_rows=[
            ({place[operator]: value for operator, value in row.items() if operator in place}, bound)
            for row, bound in task.side_rows
        ],
        fact_count=len(number),
    )
