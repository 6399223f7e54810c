"""What a schedule has to place: tasks on a grid, sharing its time, each after what it needs. Pure.

A task occupies an unbroken run of slots, at least `length` of them, and earns its work within them; several may run
side by side, at most `at_once`, and share what each slot gives in any way. It begins and ends on working slots. A task
that is held in one piece earns nothing: what it takes is owed from its first slot on, and paid before any work, also
after it has ended.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from ontology.analysis.schedule.study_calendar import Grid

__all__ = [
    "Problem",
    "Run",
    "State",
    "Task",
    "Window",
    "find_available",
    "find_ends",
    "find_next_event",
    "get_makespan",
    "pass_time",
]


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to be placed.

    Attributes
    ----------
    id : str
    work : int
        Units to be earned.
    length : int
        Least slots from the first to the last, both counted, at least 1.
    release : int
        The first slot it may begin in.
    needs : tuple of frozenset of int
        Each a set of positions of tasks, one of which has to have ended before this one begins.
    deadline : int or None
        The last slot it may end in.
    owed : int
        Units owed from its first slot on; such a task has no work.
    """

    id: str
    work: int
    length: int
    release: int = 0
    needs: tuple[frozenset[int], ...] = ()
    deadline: int | None = None
    owed: int = 0


@dataclass(frozen=True, slots=True)
class Window:
    """The first and the last slot of a task, both its own."""

    first: int
    last: int


@dataclass(frozen=True)
class Problem:
    """Tasks, the grid they share, and how many may run at once."""

    tasks: tuple[Task, ...]
    grid: Grid
    at_once: int

    @cached_property
    def need_masks(self) -> tuple[tuple[int, ...], ...]:
        """The needs of each task as bit masks over positions."""
        return tuple(tuple(sum(1 << j for j in group) for group in task.needs) for task in self.tasks)

    def is_met(self, task: int, done: int) -> bool:
        """Whether everything a task needs has ended."""
        return all(done & mask for mask in self.need_masks[task])


#: A running task: its position, the work it still has to earn, its first slot.
Run = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class State:
    """A schedule up to a slot.

    `slot` is the first one not yet lived through. `running` stands in the order in which tasks are given time, once
    what is `owed` has been paid.
    """

    slot: int
    done: int
    running: tuple[Run, ...]
    owed: int = 0

    @property
    def started(self) -> int:
        """Bit mask of the tasks that run or are done."""
        mask = self.done
        for task, _, _ in self.running:
            mask |= 1 << task
        return mask


def find_ends(problem: Problem, state: State) -> list[int]:
    """Return the slot in which each running task would end if no other began: time goes to the first in order."""
    grid = problem.grid
    ends = []
    total = state.owed
    for task, left, first in state.running:
        total += left
        earned = grid.find_earned(state.slot, total) if left else -1
        ends.append(grid.get_working(max(earned, first + problem.tasks[task].length - 1, state.slot)))
    return ends


def pass_time(problem: Problem, state: State, slot: int) -> State:
    """Return the state at a later slot, nothing having begun meanwhile; tasks whose time has come are done.

    `slot` is no later than the slot after the first end.
    """
    grid = problem.grid
    size = len(grid)
    earned = grid.sums[min(slot, size)] - grid.sums[min(state.slot, size)]
    paid = min(state.owed, earned)
    earned -= paid
    done = state.done
    running = []
    for task, left, first in state.running:
        taken = min(left, earned)
        earned -= taken
        if taken == left and slot - first >= problem.tasks[task].length and grid.capacity[min(slot, size) - 1]:
            done |= 1 << task
        else:
            running.append((task, left - taken, first))
    # time went to the first in order, so those that wait only for their last slot still stand before all others
    return State(slot, done, tuple(running), state.owed - paid)


def find_available(problem: Problem, state: State) -> list[int]:
    """Return the tasks that may begin in the state's slot."""
    started = state.started
    return [
        number
        for number, task in enumerate(problem.tasks)
        if not started >> number & 1 and task.release <= state.slot and problem.is_met(number, state.done)
    ]


def find_next_event(problem: Problem, state: State) -> State | None:
    """Return the state at the next slot in which anything new may begin; None where nothing is to come.

    That is after the first end of a running task, or when a task is released that waits for nothing else. One that
    owes may also wait until tasks before others in order have earned their work: sooner it would hold them up, and
    later it would only be later.
    """
    grid = problem.grid
    ends = find_ends(problem, state)
    nexts = [end + 1 for end in ends]
    if len(state.running) < problem.at_once:
        started = state.started
        waiting = [
            task
            for number, task in enumerate(problem.tasks)
            if not started >> number & 1 and problem.is_met(number, state.done)
        ]
        nexts.extend(grid.get_working(task.release) for task in waiting if task.release > state.slot)
        if any(task.owed and task.release <= state.slot for task in waiting):
            nexts.extend(_iterate_earned(problem, state))
    # what would end or begin after the grid never does
    size = len(grid)
    nexts = [slot for slot in nexts if slot < size or (slot == size and size - 1 in ends)]
    if not nexts:
        return None
    later = pass_time(problem, state, min(nexts))
    return State(grid.get_working(later.slot), later.done, later.running, later.owed)


def _iterate_earned(problem: Problem, state: State) -> Iterator[int]:
    """Yield the slots by which the first one, two ... of the running tasks have earned their work."""
    total = state.owed
    for _, left, _ in state.running:
        if left:
            total += left
            yield problem.grid.get_working(problem.grid.find_earned(state.slot, total) + 1)


def get_makespan(windows: Sequence[Window]) -> int:
    """Return the number of slots until everything has ended."""
    return max((window.last + 1 for window in windows), default=0)
