"""Whether a schedule keeps every rule: said slot by slot, without the code that found it. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from ontology.analysis.schedule.schedule_model import Problem, Window

__all__ = ["find_faults"]


def find_faults(problem: Problem, windows: Sequence[Window], shares: Sequence[Mapping[int, int]]) -> list[str]:
    """Return what a schedule breaks, in words; empty when it keeps precedence, places, hours, holidays and dates.

    Parameters
    ----------
    windows : sequence of Window
        First and last slot of every task.
    shares : sequence of mapping
        Slot -> units that the task takes of it.

    Notes
    -----
    O(tasks x slots).
    """
    faults: list[str] = []
    capacity = problem.grid.capacity
    taken: Counter[int] = Counter()
    present: Counter[int] = Counter()
    for task, window, share in zip(problem.tasks, windows, shares, strict=True):
        span = range(window.first, window.last + 1)
        present.update(span)
        taken.update(share)
        rules = {
            "takes fewer slots than its length": len(span) < task.length,
            "begins before it may": window.first < task.release,
            "ends after its deadline": task.deadline is not None and window.last > task.deadline,
            "begins or ends outside the grid or on a holiday": not all(
                0 <= slot < len(capacity) and capacity[slot] > 0 for slot in (window.first, window.last)
            ),
            "is given other work than its own": sum(share.values()) != task.work or min(share.values(), default=0) < 0,
            "works outside its window": any(slot not in span for slot in share),
            "begins before something it needs has ended": not all(
                any(windows[other].last < window.first for other in group) for group in task.needs
            ),
        }
        faults.extend(f"{task.id} {words}" for words, is_broken in rules.items() if is_broken)
    owed = {window.first: 0 for window in windows}
    for task, window in zip(problem.tasks, windows, strict=True):
        owed[window.first] += task.owed
    overdrawn = []
    debt = 0
    for slot, given in enumerate(capacity):
        debt += owed.get(slot, 0)
        paid = min(debt, given)
        debt -= paid
        if taken[slot] > given - paid:
            overdrawn.append(slot)
    crowded = sorted(slot for slot, count in present.items() if count > problem.at_once)
    faults.extend(f"slot {slot} gives more than it has" for slot in overdrawn)
    faults.extend(f"slot {slot} holds too many" for slot in crowded)
    return faults
