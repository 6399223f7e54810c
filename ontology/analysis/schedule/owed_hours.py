"""When the hours of courses held in one piece are paid, and what that leaves for the others. Pure.

Such a course takes more hours than its weeks have for study. They are owed from its first slot on and count against all
time from then on until they are paid, first come, first paid.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ontology.analysis.schedule.schedule_model import Problem, Task, Window
from ontology.analysis.schedule.study_calendar import UNITS_PER_MINUTE, Grid, StudyCalendar
from ontology.snapshot.snapshot import Snapshot

__all__ = ["hold_in_one_piece", "pay_owed", "spread", "take_owed", "tell_blocks"]


def pay_owed(problem: Problem, windows: Sequence[Window]) -> tuple[dict[int, int], ...]:
    """Return for each task the units that each slot pays of what it owes, as far as the grid goes.

    O(tasks + slots in which something is owed).
    """
    paid: list[dict[int, int]] = [{} for _ in windows]
    capacity = problem.grid.capacity
    slot = used = 0
    for number in sorted(range(len(windows)), key=lambda n: (windows[n].first, n)):
        left = problem.tasks[number].owed
        if left and windows[number].first > slot:
            slot, used = windows[number].first, 0
        while left and slot < len(capacity):
            units = min(left, capacity[slot] - used)
            if units:
                paid[number][slot] = units
                left, used = left - units, used + units
            if used == capacity[slot]:
                slot, used = slot + 1, 0
    return tuple(paid)


def take_owed(problem: Problem, windows: Sequence[Window]) -> Problem:
    """Return the problem in which everything owed is paid, and who owed it only holds their place."""
    if not any(task.owed for task in problem.tasks):
        return problem
    capacity = list(problem.grid.capacity)
    for share in pay_owed(problem, windows):
        for slot, units in share.items():
            capacity[slot] -= units
    tasks = tuple(
        hold_in_one_piece(task, window) if task.owed else task
        for task, window in zip(problem.tasks, windows, strict=True)
    )
    return replace(problem, tasks=tasks, grid=Grid(capacity))


def hold_in_one_piece(task: Task, window: Window) -> Task:
    """Return a task that holds just this window and takes no time in it."""
    return replace(task, work=0, owed=0, length=window.last - window.first + 1, release=window.first)


def spread(grid: Grid, units: int, window: Window) -> Mapping[int, int]:
    """Return units spread evenly over the slots of a window that give time."""
    slots = [slot for slot in range(window.first, window.last + 1) if grid.capacity[slot]]
    return {
        slot: units * (n + 1) // len(slots) - units * n // len(slots)
        for n, slot in enumerate(slots)
        if units * (n + 1) // len(slots) > units * n // len(slots)
    }


def tell_blocks(
    snapshot: Snapshot, problem: Problem, windows: Sequence[Window], calendar: StudyCalendar, rate: float
) -> list[str]:
    """Return a remark for each course held in one piece whose hours are more than its own days have for study."""
    remarks = []
    for task, window, share in zip(problem.tasks, windows, pay_owed(problem, windows), strict=True):
        if not task.owed or max(share, default=0) <= window.last:
            continue
        remarks.append(
            f"{snapshot.courses[task.id].label} is held in one piece, from {calendar.get_day(window.first)} to "
            f"{calendar.get_day(window.last)}: its {task.owed / UNITS_PER_MINUTE / 60:g} h are more than these days "
            f"have for study ({rate:g} h a week), and count against the days until {calendar.get_day(max(share))}."
        )
    return remarks
