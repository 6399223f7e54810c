"""Make a delete-free problem small before it is solved, without losing its optimum.

May import the relaxed problem and the reduced task. Fact landmarks by greatest fixpoint: Keyder, Richter & Helmert
2010 (ECAI), after Zhu & Givan 2003.
"""

from __future__ import annotations

from collections.abc import Iterable

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.engine.landmark_task import ReducedTask, join_masks, select_operators
from ontology.analysis.engine.relaxed import RelaxedProblem, find_relevant_operators

__all__ = ["build_task", "reduce_task"]

_ROUND_PAYS = 0.98
"""Another round of reduction follows while the last one left at most this share of the operators."""


def _follow_free(task: ReducedTask) -> list[int]:
    """Return for each fact the facts that follow from it alone by free operators (itself included)."""
    follow = [1 << fact for fact in range(task.fact_count)]
    for operator in range(task.paid_count, len(task.sources)):
        if len(task.conditions[operator]) == 1:
            follow[task.conditions[operator][0]] |= task.gives[operator]
    while True:
        longer = [join_masks(follow, iterate_bits(mask)) for mask in follow]
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
    changed = {fact for facts, given in zip(conditions, task.effects, strict=True) if not facts for fact in given}
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
            mask = join_masks(landmarks, conditions[operator])
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
    goals : frozenset of int
        Goals to keep; all of them can be reached, none is reached for nothing.

    Notes
    -----
    What is held at the start (free operators included) is gone from conditions and effects; carry-over operators
    with one condition are folded into the effects of the others. O(size).
    """
    held = problem.held
    free = set(problem.free_operators)
    order = sorted(find_relevant_operators(problem), key=lambda index: (index in free, problem.operator_ids[index]))
    facts = sorted({*goals, *(fact for index in order for fact in problem.conditions[index])} - held)
    number = {fact: position for position, fact in enumerate(facts)}
    paid = [index for index in order if index not in free]
    position = {index: place for place, index in enumerate(order)}
    task = ReducedTask(
        sources=order,
        paid_count=len(paid),
        aims=[tuple(aim[index] for aim in problem.aims) for index in paid],
        conditions=[
            tuple(sorted(number[fact] for fact in problem.conditions[index] if fact in number)) for index in order
        ],
        effects=[tuple(sorted(number[fact] for fact in problem.effects[index] if fact in number)) for index in order],
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
    task.effects = [tuple(iterate_bits(join_masks(follow, facts))) for facts in task.effects]
    return select_operators(
        task, [index for index in range(len(order)) if index < len(paid) or len(task.conditions[index]) > 1]
    )


def reduce_task(task: ReducedTask, operators: Iterable[int]) -> ReducedTask:
    """Return a smaller task whose optimal plans are those of `task` with none but `operators` chosen.

    Parameters
    ----------
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
    task = select_operators(task, [*sorted(operators), *range(task.paid_count, len(task.sources))])
    while True:
        landmarks = _find_landmarks(task)
        goals = list(iterate_bits(join_masks(landmarks, task.goals)))
        for operator, facts in enumerate(task.conditions):
            before = task.implied[operator] | join_masks(landmarks, facts)
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
        live = [operator for operator, facts in enumerate(task.effects) if facts and operator not in dominated]
        smaller = select_operators(task, live)
        if not smaller.sources or len(smaller.sources) > _ROUND_PAYS * len(task.sources):
            return smaller
        task = smaller
