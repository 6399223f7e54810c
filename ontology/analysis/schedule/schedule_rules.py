"""Schedules made by rules of thumb: whatever may begin begins, in an order; a first answer for the search. Pure.

The orders come from what hangs on a task, its length, its work; some are shaken with a seeded generator, so the same
problem gives the same schedules.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import chain, product
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.schedule_model import (
    Problem,
    State,
    Window,
    find_available,
    find_next_event,
    get_makespan,
)

__all__ = ["Rank", "build_by_rule", "find_by_rules", "get_start"]

Rank = Sequence[float]
_SHAKEN: Final = 300
_NEVER: Final = 1 << 40


def get_start(problem: Problem) -> State:
    """Return the state in which nothing has begun."""
    return State(problem.grid.get_working(0), 0, ())


def build_by_rule(
    problem: Problem, begin_rank: Rank, time_rank: Rank, *, is_patient: bool = False
) -> tuple[Window, ...] | None:
    """Return the schedule in which a free place is taken at once; None where a deadline is missed.

    Parameters
    ----------
    begin_rank : sequence of float
        Of the tasks that may begin, those with the smallest rank do.
    time_rank : sequence of float
        Of the tasks that run, those with the smallest rank are given time first.
    is_patient : bool
        Whether tasks that owe begin only when no running one has work left.
    """
    state = get_start(problem)
    first: dict[int, int] = {}
    last: dict[int, int] = {}
    while True:
        available = sorted(find_available(problem, state), key=lambda number: (begin_rank[number], number))
        running, owed = list(state.running), state.owed
        for number in available:
            task = problem.tasks[number]
            if len(running) >= problem.at_once:
                break
            if is_patient and task.owed and any(left for _, left, _ in running):
                continue
            running.append((number, task.work, state.slot))
            first[number] = state.slot
            owed += task.owed
        running.sort(key=lambda run: (run[1] > 0, time_rank[run[0]], run[0]))
        state = State(state.slot, state.done, tuple(running), owed)
        following = find_next_event(problem, state)
        if following is None:
            break
        # a task ends in the working slot before the next event, whatever holidays lie between
        ended = problem.grid.get_working_before(following.slot - 1)
        for number in first:
            if following.done >> number & 1 and number not in last:
                last[number] = ended
                deadline = problem.tasks[number].deadline
                if deadline is not None and ended > deadline:
                    return None
        state = following
    if len(last) < len(problem.tasks):
        return None
    return tuple(Window(first[number], last[number]) for number in range(len(problem.tasks)))


def find_by_rules(
    problem: Problem, tails: Sequence[int], lower_bound: int, deadline: Deadline
) -> tuple[Window, ...] | None:
    """Return the shortest schedule that the rules give, of equal ones that whose tasks end early; None: no such.

    Parameters
    ----------
    tails : sequence of int
        Least slots from the first slot of each task to the end of all (see `schedule_bound`).
    lower_bound : int
        Shaken orders are tried only until a schedule takes no more slots than this.
    deadline : Deadline
        When it is over the best so far is returned, at least one.
    """
    best: tuple[Window, ...] | None = None
    rules = _build_rules(problem, tails)
    patience = (False, True) if any(task.owed for task in problem.tasks) else (False,)
    for tried, (begin_rank, time_rank) in enumerate(chain(product(rules, rules), _shake(rules)), start=1):
        if best is not None and (deadline.is_over() or (tried > len(rules) ** 2 and get_makespan(best) <= lower_bound)):
            break
        for is_patient in patience:
            found = build_by_rule(problem, begin_rank, time_rank, is_patient=is_patient)
            if found is not None and (best is None or _get_value(found) < _get_value(best)):
                best = found
    return best


def _get_value(windows: Sequence[Window]) -> tuple[int, int]:
    return get_makespan(windows), sum(window.last for window in windows)


def _build_rules(problem: Problem, tails: Sequence[int]) -> list[list[float]]:
    tasks = problem.tasks
    rules: list[list[float]] = [
        [-tail for tail in tails],
        [task.length - tail for task, tail in zip(tasks, tails, strict=True)],
        [-task.length for task in tasks],
        [-task.work for task in tasks],
        [task.work for task in tasks],
        [float(number) for number in range(len(tasks))],
    ]
    if any(task.deadline is not None for task in tasks):
        by_deadline = [_NEVER if task.deadline is None else task.deadline for task in tasks]
        rules.extend([[min(d, _NEVER + r) for d, r in zip(by_deadline, rule, strict=True)] for rule in list(rules)])
    return rules


def _shake(rules: Sequence[Sequence[float]]) -> Iterator[tuple[Rank, Rank]]:
    generator = random.Random(1)
    for _ in range(_SHAKEN):
        pair = [[value * generator.uniform(0.6, 1.4) for value in generator.choice(rules)] for _ in range(2)]
        yield pair[0], pair[1]
