"""The shortest schedule, proved where the effort allows: deepening by the bound, each failure remembered. Pure.

Nothing is lost by beginning only after an end or at a release (a task can be moved to the left until then), nor by
giving all time to the task that ends first (earliest deadline first, Horn 1974). So a schedule is a row of choices:
what begins after each event, and at which place in the order of ends. Depth-first search tries them with a limit on
the slots: first from the best schedule known down, then, for what is left of the effort, from the bound up; when a
limit fails, the least bound that was cut off is the next one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.effort import Effort, GaveUpError
from ontology.analysis.schedule.schedule_bound import Bound
from ontology.analysis.schedule.schedule_model import (
    Problem,
    Run,
    State,
    Window,
    find_available,
    find_ends,
    find_next_event,
    get_makespan,
)
from ontology.analysis.schedule.schedule_rules import find_by_rules, get_start

__all__ = ["MAX_NODES", "Found", "can_end_by", "search_schedule"]

#: Choices looked at before the search gives up: the same on every machine, a few seconds on a small one.
MAX_NODES: Final = 200_000
_NEVER: Final = 1 << 40


@dataclass(frozen=True, slots=True)
class Found:
    """The best schedule found, and how many slots none is below.

    `windows` is None where nothing was found: then `is_proved` tells that there is none (a deadline stands against
    it). `nodes` counts the choices looked at.
    """

    windows: tuple[Window, ...] | None
    lower_bound: int
    is_proved: bool
    nodes: int = 0


class _Search:
    def __init__(self, problem: Problem, bound: Bound, effort: Effort) -> None:
        self.problem = problem
        self.bound = bound
        self.effort = effort
        self.limit = 0
        self.cut_off = _NEVER
        self.rank = sorted(range(len(problem.tasks)), key=lambda n: (-bound.tails[n], n))
        self.place = {number: place for place, number in enumerate(self.rank)}
        self.everything = (1 << len(problem.tasks)) - 1
        self.failed: dict[tuple[int, tuple[int, ...]], list[tuple[int, ...]]] = {}
        self.first: dict[int, int] = {}
        self.last: dict[int, int] = {}

    def try_limit(self, limit: int) -> tuple[Window, ...] | None:
        """Return a schedule of at most so many slots; None where there is none."""
        self.limit, self.cut_off = limit, _NEVER
        self.failed = {}
        if not self.enter(get_start(self.problem)):
            return None
        return tuple(Window(self.first[n], self.last[n]) for n in range(len(self.problem.tasks)))

    def enter(self, state: State, barred: int = 0) -> bool:
        """Try everything from a state at an event, but that a task of the bit mask begins in its slot."""
        if state.done == self.everything:
            return True
        if self._is_cut(state):
            return False
        key = (state.done, tuple(task for task, _, _ in state.running))
        lefts = (left for _, left, _ in state.running)
        mark = (state.slot, state.owed, *lefts, *(first for _, _, first in state.running))
        marks = self.failed.setdefault(key, [])
        if any(all(a <= b for a, b in zip(known, mark, strict=True)) for known in marks):
            return False
        if self._choose(state, -1, barred):
            return True
        marks[:] = [known for known in marks if not all(a <= b for a, b in zip(mark, known, strict=True))]
        marks.append(mark)
        return False

    def _is_cut(self, state: State) -> bool:
        self.effort.spend()
        value = self.bound.compute_bound(state)
        if value > self.limit:
            self.cut_off = min(self.cut_off, value)
            return True
        return self._misses_deadline(state)

    def _misses_deadline(self, state: State) -> bool:
        started = state.started
        for number, task in enumerate(self.problem.tasks):
            if task.deadline is None or started >> number & 1:
                continue
            if max(state.slot, task.release) + self.bound.least[number] - 1 > task.deadline:
                return True
        return False

    def _choose(self, state: State, after: int, barred: int) -> bool:
        """Let one more task begin in this slot (only ones ranked behind the last that did), or let time pass."""
        available: list[int] = []
        if len(state.running) < self.problem.at_once:
            available = find_available(self.problem, state)
            for place in sorted(self.place[n] for n in available if not barred >> n & 1):
                if place > after and self._begin(state, self.rank[place], place, barred):
                    return True
        return self._wait(state, available)

    def _begin(self, state: State, number: int, place: int, barred: int) -> bool:
        task = self.problem.tasks[number]
        run: Run = (number, task.work, state.slot)
        waiting = sum(1 for _, left, _ in state.running if not left)
        positions = range(waiting, len(state.running) + 1) if task.work else (waiting,)
        self.first[number] = state.slot
        for position in sorted(positions, key=lambda p: self._count_unsorted(state, number, p)):
            running = (*state.running[:position], run, *state.running[position:])
            child = State(state.slot, state.done, running, state.owed + task.owed)
            if not self._is_cut(child) and self._choose(child, place, barred):
                return True
        return False

    def _count_unsorted(self, state: State, number: int, position: int) -> int:
        """Return how far a position is from where the task's rank puts it: the likely one is tried first."""
        behind = sum(1 for task, left, _ in state.running if left and self.place[task] < self.place[number])
        waiting = sum(1 for _, left, _ in state.running if not left)
        return abs(position - waiting - behind)

    def _wait(self, state: State, available: list[int]) -> bool:
        """Let time pass until the next event.

        What could have begun here on a free place need not begin there: a window drawn out to the left hurts nobody,
        and what is owed earlier only those who earn their last work meanwhile. Both have been tried before.
        """
        following = find_next_event(self.problem, state)
        if following is None:
            return False
        ends = dict(zip((task for task, _, _ in state.running), find_ends(self.problem, state), strict=True))
        for number, end in ends.items():
            if following.done >> number & 1:
                deadline = self.problem.tasks[number].deadline
                if deadline is not None and end > deadline:
                    return False
                self.last[number] = end
        left_after = {number: left for number, left, _ in following.running}
        has_earned = any(left and not left_after.get(number) for number, left, _ in state.running)
        tasks = self.problem.tasks
        barred = sum(1 << number for number in available if not (tasks[number].owed and has_earned))
        return self.enter(following, barred)


def search_schedule(problem: Problem, deadline: Deadline, *, max_nodes: int = MAX_NODES) -> Found:
    """Return the schedule with the fewest slots until everything has ended.

    Parameters
    ----------
    problem : Problem
        On a grid long enough for its tasks one after the other.
    deadline : Deadline
        When it is over the best schedule so far is returned.
    max_nodes : int
        So does this many choices.

    Returns
    -------
    Found

    Notes
    -----
    NP-hard (as scheduling on parallel machines is); deepening as Korf 1985, Artificial Intelligence 27.
    """
    bound = Bound(problem)
    lower = bound.get_root()
    best = find_by_rules(problem, bound.tails, lower, deadline)
    effort = Effort(max_nodes, deadline)
    if best is not None:
        part = effort.take(max_nodes * 3 // 4)
        best, is_proved = _shorten(_Search(problem, bound, part), best, lower)
        effort.give_back(part)
        if is_proved:
            return Found(best, get_makespan(best), True, max_nodes - effort.nodes_left)
    search = _Search(problem, bound, effort)
    try:
        while best is None or get_makespan(best) > lower:
            found = search.try_limit(lower)
            if found is not None:
                best = found
                break
            if search.cut_off == _NEVER:
                # only deadlines stood against everything
                return Found(None, lower, True, max_nodes - effort.nodes_left)
            lower = search.cut_off
    except GaveUpError:
        return Found(best, lower, False, max_nodes)
    assert best is not None
    return Found(best, get_makespan(best), True, max_nodes - effort.nodes_left)


def _shorten(search: _Search, best: tuple[Window, ...], lower: int) -> tuple[tuple[Window, ...], bool]:
    """Return the shortest schedule found by asking for a shorter one, and whether there is none."""
    try:
        while get_makespan(best) > lower:
            found = search.try_limit(get_makespan(best) - 1)
            if found is None:
                break
            best = found
    except GaveUpError:
        return best, False
    return best, True


def can_end_by(problem: Problem, slots: int, effort: Effort) -> bool | None:
    """Tell whether a schedule takes at most so many slots and keeps every deadline; None where the effort ran out."""
    bound = Bound(problem)
    if bound.get_root() > slots:
        return False
    try:
        return _Search(problem, bound, effort).try_limit(slots) is not None
    except GaveUpError:
        return None
