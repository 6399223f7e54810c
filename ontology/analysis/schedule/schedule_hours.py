"""Which hours fall on which day, once the first and last slots are found; and windows drawn tight around them. Pure.

Courses that stretch over more weeks than their hours need are spread evenly where the others leave room; the rest take
all time there is, the one that ends first before the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from ontology.analysis.schedule.owed_hours import hold_in_one_piece, take_owed
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_rules import build_by_rule
from ontology.analysis.schedule.study_calendar import Grid

__all__ = ["Share", "earn_in_order", "share_time"]

#: Slot -> units of it that a task takes.
Share = Mapping[int, int]


def earn_in_order(
    tasks: Sequence[Task], windows: Sequence[Window], numbers: Iterable[int], capacity: Sequence[int]
) -> dict[int, dict[int, int]] | None:
    """Return the shares of some tasks when time goes to the one that ends first; None where a window is too short.

    Earliest deadline first finds shares whenever there are any (Horn 1974). O(slots x tasks at once).
    """
    waiting = sorted(numbers, key=lambda n: (windows[n].first, n), reverse=True)
    left = {n: tasks[n].work for n in waiting}
    shares: dict[int, dict[int, int]] = {n: {} for n in waiting}
    running: list[int] = []
    slot = 0
    while waiting or running:
        if not running:
            slot = max(slot, windows[waiting[-1]].first)
        while waiting and windows[waiting[-1]].first <= slot:
            running.append(waiting.pop())
            running.sort(key=lambda n: (windows[n].last, n))
        free = capacity[slot]
        for n in running:
            taken = min(free, left[n])
            if taken:
                shares[n][slot] = taken
                left[n] -= taken
                free -= taken
        if any(left[n] and windows[n].last <= slot for n in running):
            return None
        running = [n for n in running if left[n]]
        slot += 1
    return shares


def share_time(problem: Problem, windows: Sequence[Window]) -> tuple[tuple[Window, ...], tuple[Share, ...]]:
    """Return the windows drawn tight, and the share of every task in every slot.

    Parameters
    ----------
    windows : sequence of Window
        In which all work can be earned.

    Returns
    -------
    windows : tuple of Window
        Nothing ends later than the last did before.
    shares : tuple of mapping
        Slot -> units of its work, for each task.
    """
    tasks = problem.tasks
    end = get_makespan(windows)
    wide = [n for n, task in enumerate(tasks) if 0 < task.work < task.length * problem.grid.largest]
    shares: list[Share] = [{} for _ in tasks]
    paid = rest = take_owed(problem, windows)
    placed = {n: window for n, window in enumerate(windows) if tasks[n].owed}
    for n in sorted(wide, key=lambda n: (tasks[n].work / tasks[n].length, n)):
        for window, even in _iterate_even(rest, n, windows[n]):
            trial = _take_out(rest, n, window, even)
            moved = build_by_rule(trial, [w.first for w in windows], [w.last for w in windows])
            if moved is None or get_makespan(moved) > end:
                continue
            if all(moved[m] == kept for m, kept in (placed | {n: window}).items()):
                rest, windows, shares[n] = trial, moved, even
                placed[n] = window
                break
    plain = [n for n, task in enumerate(rest.tasks) if task.work]
    earned = earn_in_order(tasks, windows, plain, rest.grid.capacity)
    assert earned is not None, "the windows were found with shares for all work"
    for n, share in earned.items():
        shares[n] = share
    for n in sorted(plain, key=lambda n: (windows[n].last, n)):
        shares[n] = _gather(paid, n, windows[n], shares)
    return tuple(_tighten(problem, tasks[n], windows[n], shares[n]) for n in range(len(tasks))), tuple(shares)


def _gather(problem: Problem, n: int, window: Window, shares: Sequence[Share]) -> Share:
    """Return the shares of a task as near to their last slot as the others' shares leave room."""
    left, gathered = problem.tasks[n].work, {}
    for slot in range(max(shares[n]), window.first - 1, -1):
        free = problem.grid.capacity[slot] - sum(share.get(slot, 0) for m, share in enumerate(shares) if m != n)
        if free > 0 and left:
            gathered[slot] = min(free, left)
            left -= gathered[slot]
    return gathered


def _iterate_even(problem: Problem, n: int, window: Window) -> Iterator[tuple[Window, dict[int, int]]]:
    """Yield windows from the same first slot, with even shares: over the task's own weeks, then over all of it."""
    task, capacity = problem.tasks[n], problem.grid.capacity
    own = problem.grid.get_working(window.first + task.length - 1)
    for last in dict.fromkeys((own, max(own, window.last))):
        span = capacity[window.first : last + 1]
        total = sum(span)
        if not total or total < task.work:
            continue
        given = seen = 0
        even = {}
        for slot, units in enumerate(span, start=window.first):
            seen += units
            share = task.work * seen // total - given
            given += share
            if share:
                even[slot] = share
        yield Window(window.first, last), even


def _take_out(problem: Problem, n: int, window: Window, share: Mapping[int, int]) -> Problem:
    """Return the problem in which a task has its share already, and only holds its place."""
    capacity = [units - share.get(slot, 0) for slot, units in enumerate(problem.grid.capacity)]
    placed = hold_in_one_piece(problem.tasks[n], window)
    tasks = tuple(placed if number == n else task for number, task in enumerate(problem.tasks))
    return replace(problem, tasks=tasks, grid=Grid(capacity))


def _tighten(problem: Problem, task: Task, window: Window, share: Share) -> Window:
    """Return the shortest window that holds the shares and the task's length: as early an end as can be."""
    grid = problem.grid
    last_share = max(share, default=window.first)
    first_share = min(share, default=window.first)
    last = grid.get_working(max(last_share, window.first + task.length - 1))
    first = min(first_share, grid.get_working_before(last - task.length + 1))
    return Window(max(first, window.first), min(last, window.last))
