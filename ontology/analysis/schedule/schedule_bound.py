"""What no schedule can beat: chains of tasks, the time there is to earn, the places there are. Pure.

Each bound is sound by itself: a chain at its least lengths; all work that still has to be earned, with the least that
comes after it; least lengths side by side on the places. Holidays count where the slot is known and never otherwise.
"""

from __future__ import annotations

from functools import cache

from ontology.analysis.schedule.schedule_model import Problem, State

__all__ = ["Bound", "find_heads", "find_tails", "get_least_length"]


def get_least_length(problem: Problem, number: int) -> int:
    """Return the fewest slots a task can take: its length, and its work at full rate."""
    task = problem.tasks[number]
    largest = problem.grid.largest
    return max(task.length, -(-task.work // largest) if largest else 1)


def find_tails(problem: Problem) -> tuple[int, ...]:
    """Return for each task the least slots from its first to the end of all, by what surely waits for it.

    Only a need that a single task can meet makes it surely wait; no holidays are counted.
    """
    count = len(problem.tasks)
    followers: list[list[int]] = [[] for _ in range(count)]
    for number, task in enumerate(problem.tasks):
        for group in task.needs:
            if len(group) == 1:
                followers[next(iter(group))].append(number)

    @cache
    def find(number: int) -> int:
        return get_least_length(problem, number) + max(map(find, followers[number]), default=0)

    return tuple(find(number) for number in range(count))


def find_owing_before(problem: Problem) -> tuple[int, ...]:
    """Return for each task the bit mask of the tasks that owe and surely begin before it has earned its work."""
    masks = [0] * len(problem.tasks)

    @cache
    def find(number: int) -> int:
        mask = 0
        for group in problem.tasks[number].needs:
            if len(group) == 1:
                other = next(iter(group))
                mask |= find(other) | ((1 << other) if problem.tasks[other].owed else 0)
        return mask

    if any(task.owed for task in problem.tasks):
        masks = [find(number) if task.work else 0 for number, task in enumerate(problem.tasks)]
    return tuple(masks)


def find_heads(problem: Problem) -> tuple[int, ...]:
    """Return for each task a slot before which it cannot begin; as if every other had all time to itself.

    A need is met by the earliest of the tasks that can meet it. Holidays count.
    """
    grid = problem.grid
    size = len(grid)
    heads = [size] * len(problem.tasks)
    ends = [size] * len(problem.tasks)
    has_changed = True
    while has_changed:
        has_changed = False
        for number, task in enumerate(problem.tasks):
            begin = max([task.release, *(min(ends[j] for j in group) + 1 for group in task.needs)])
            head = grid.get_working(begin)
            if head < heads[number]:
                heads[number] = head
                ends[number] = grid.get_working(max(grid.find_earned(head, task.work), head + task.length - 1))
                has_changed = True
    return tuple(heads)


class Bound:
    """Bounds on the slots until everything has ended, for one problem."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self.tails = find_tails(problem)
        self.least = tuple(get_least_length(problem, number) for number in range(len(problem.tasks)))
        self._after = tuple(tail - least for tail, least in zip(self.tails, self.least, strict=True))
        self._owing_before = find_owing_before(problem)
        #: What owes and has to begin by some slot: that slot, and the task.
        self._forced = sorted(
            (task.deadline + 1 - task.length, number)
            for number, task in enumerate(problem.tasks)
            if task.owed and task.deadline is not None
        )
        #: Tasks with the most to come after them first.
        self._by_after = sorted(range(len(problem.tasks)), key=lambda number: (-self._after[number], number))

    def get_root(self) -> int:
        """Return a bound for the whole problem, from where tasks can begin and what comes after them."""
        problem, grid = self._problem, self._problem.grid
        if not problem.tasks:
            return 0
        heads = find_heads(problem)
        best = max(
            self.compute_bound(State(grid.get_working(0), 0, ())),
            *(head + tail for head, tail in zip(heads, self.tails, strict=True)),
        )
        for head in sorted(set(heads)):
            work = slots = owing = 0
            for number in self._by_after:
                if heads[number] < head:
                    continue
                # what is owed before its first slot may have been paid before this one
                new = sum(
                    task.owed
                    for n, task in enumerate(problem.tasks)
                    if heads[n] >= head and (self._owing_before[number] & ~owing) >> n & 1
                )
                owing |= self._owing_before[number]
                work += problem.tasks[number].work + new
                slots += self.least[number]
                earned = grid.find_earned(head, work) + 1
                best = max(best, max(earned, head - (-slots // problem.at_once)) + self._after[number])
        return self._end_on_working(best)

    def compute_bound(self, state: State) -> int:
        """Return a bound for all schedules that begin like this one. O(tasks)."""
        problem, grid = self._problem, self._problem.grid
        slot, done = state.slot, state.done
        left = {task: (work, first) for task, work, first in state.running}
        best = slot
        work = slots = 0
        owed, owing = state.owed, state.started
        for number in self._by_after:
            if done >> number & 1:
                continue
            task = problem.tasks[number]
            if number in left:
                todo, first = left[number]
                earned = grid.find_earned(slot, todo + owed) + 1 if todo else slot
                end = max(first + task.length, earned, slot + 1)
                slots += end - slot
            else:
                todo = task.work
                end = max(slot, task.release) + self.least[number]
                slots += self.least[number]
                if before := self._owing_before[number] & ~state.started:
                    end = max(end, grid.find_earned(slot, owed + self._sum_owed(before) + todo) + 1)
                    work += self._sum_owed(before & ~owing)
                    owing |= before
            work += todo
            after = self._after[number]
            earned = grid.find_earned(slot, work + owed) + 1 if work else slot
            for begins_by, other in self._forced:
                # work that is left when it has begun at the latest waits until it is paid
                if not work or begins_by >= earned:
                    break
                if not owing >> other & 1:
                    owing |= 1 << other
                    work += problem.tasks[other].owed
                    earned = grid.find_earned(slot, work + owed) + 1
            shared = max(earned, slot - (-slots // problem.at_once))
            best = max(best, end + after, shared + after)
        return self._end_on_working(best)

    def _sum_owed(self, mask: int) -> int:
        return sum(task.owed for number, task in enumerate(self._problem.tasks) if mask >> number & 1)

    def _end_on_working(self, slots: int) -> int:
        """Return the bound moved to a working slot: everything ends on one."""
        return self._problem.grid.get_working(slots - 1) + 1 if slots else 0
