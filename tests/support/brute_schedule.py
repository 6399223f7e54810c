"""The fewest slots of a schedule, by living through every slot with every choice; for small problems only.

Shares nothing with the search: whole units are given to tasks in all ways (whole ones suffice, since the flow of
units from slots to tasks is integral), and a breadth-first search over the states of all tasks counts slots.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from ontology.analysis.schedule.schedule_model import Problem

#: Of each task: None before it begins, True when it is done, else (units left, slots lived).
TaskState = tuple[int, int] | bool | None
#: What is still owed, and the state of each task.
Whole = tuple[int, tuple[TaskState, ...]]


def find_least_slots(problem: Problem) -> int | None:
    """Return the fewest slots until all tasks have ended; None where the grid or a deadline does not allow it."""
    states: set[Whole] = {(0, (None,) * len(problem.tasks))}
    for slot in range(len(problem.grid) + 1):
        if any(all(part is True for part in state) for _, state in states):
            return slot
        if slot == len(problem.grid):
            break
        states = {after for state in states for after in live(problem, state, slot)}
    return None


def live(problem: Problem, whole: Whole, slot: int) -> Iterator[Whole]:
    before, state = whole
    for begun in choose_beginners(problem, state, slot):
        # what is owed comes first
        owed = before + sum(
            task.owed for task, old, new in zip(problem.tasks, state, begun, strict=True) if old is None and new
        )
        given = problem.grid.capacity[slot]
        capacity = max(0, given - owed)
        running = [n for n, part in enumerate(begun) if isinstance(part, tuple)]
        for shares in share_out(capacity, [begun[n][0] for n in running]):  # type: ignore[index]
            after: list[TaskState] = list(begun)
            is_late = False
            for n, share in zip(running, shares, strict=True):
                left, lived = begun[n]  # type: ignore[misc]
                left, lived = left - share, lived + 1
                task = problem.tasks[n]
                is_over = given > 0 and left == 0 and lived >= task.length
                after[n] = True if is_over else (left, min(lived, task.length))
                is_late |= task.deadline is not None and slot > task.deadline - (not is_over)
            if not is_late:
                yield max(0, owed - given), tuple(after)


def choose_beginners(problem: Problem, state: tuple[TaskState, ...], slot: int) -> Iterator[tuple[TaskState, ...]]:
    running = sum(isinstance(part, tuple) for part in state)
    able = [
        n
        for n, task in enumerate(problem.tasks)
        if state[n] is None
        and problem.grid.capacity[slot]
        and task.release <= slot
        and all(any(state[j] is True for j in group) for group in task.needs)
    ]
    for count in range(min(len(able), problem.at_once - running) + 1):
        for chosen in combinations(able, count):
            yield tuple((problem.tasks[n].work, 0) if n in chosen else part for n, part in enumerate(state))


def share_out(units: int, wants: Sequence[int]) -> Iterator[tuple[int, ...]]:
    if not wants:
        yield ()
        return
    for first in range(min(units, wants[0]) + 1):
        for rest in share_out(units - first, wants[1:]):
            yield (first, *rest)
