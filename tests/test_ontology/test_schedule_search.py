"""Schedules against another statement of the problem: a program over slots, solved by scipy's milp.

Larger than what brute force can live through; the two share only the records of the problem.
"""

from __future__ import annotations

import random
from itertools import permutations
from unittest.mock import patch

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.schedule_check import find_faults
from ontology.analysis.schedule.schedule_hours import earn_in_order, share_time
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid

SLOTS = 45


def build(seed: int) -> Problem:
    rng = random.Random(seed)
    tasks = []
    for number in range(rng.randint(4, 6)):
        groups = rng.choice((0, 0, 1, 1, 2)) if number else 0
        needs = tuple(frozenset(rng.sample(range(number), min(number, rng.choice((1, 1, 2))))) for _ in range(groups))
        release = rng.choice((0, 0, 0, 4))
        tasks.append(Task(f"t{number}", rng.randint(0, 14), rng.randint(1, 7), release, needs))
    capacity = rng.randint(2, 5)
    return Problem(tuple(tasks), Grid([0 if rng.random() < 0.1 else capacity for _ in range(SLOTS)]), rng.randint(1, 3))


def solve_over_slots(problem: Problem) -> int:
    """Return the least makespan: binaries tell in which slot each task begins and ends, amounts what it earns."""
    count, capacity = len(problem.tasks), problem.grid.capacity
    block = count * SLOTS

    def begin(task: int, slot: int) -> int:
        return task * SLOTS + slot

    def end(task: int, slot: int) -> int:
        return block + task * SLOTS + slot

    def earn(task: int, slot: int) -> int:
        return 2 * block + task * SLOTS + slot

    size = 3 * block + 1
    rows: list[tuple[dict[int, float], float, float]] = []
    upper = np.ones(size)
    upper[2 * block :] = np.inf
    for n, task in enumerate(problem.tasks):
        rows.append(({begin(n, t): 1 for t in range(SLOTS)}, 1, 1))
        rows.append(({end(n, t): 1 for t in range(SLOTS)}, 1, 1))
        rows.append(({earn(n, t): 1 for t in range(SLOTS)}, task.work, task.work))
        span = {end(n, t): t for t in range(SLOTS)} | {begin(n, t): -t for t in range(SLOTS)}
        rows.append((span, task.length - 1, np.inf))
        rows.append(({size - 1: 1} | {end(n, t): -(t + 1) for t in range(SLOTS)}, 0, np.inf))
        for t in range(SLOTS):
            if not capacity[t] or t < task.release:
                upper[begin(n, t)] = 0
            if not capacity[t]:
                upper[end(n, t)] = 0
            running = {begin(n, u): -float(capacity[t]) for u in range(t + 1)} | {
                end(n, u): float(capacity[t]) for u in range(t)
            }
            rows.append(({earn(n, t): 1} | running, -np.inf, 0))
            for group in task.needs:
                ended = {end(j, u): -1.0 for j in group for u in range(t)}
                rows.append(({begin(n, t): 1.0} | ended, -np.inf, 0))
    for t in range(SLOTS):
        rows.append(({earn(n, t): 1 for n in range(count)}, 0, capacity[t]))
        places = {begin(n, u): 1.0 for n in range(count) for u in range(t + 1)}
        places |= {end(n, u): -1.0 for n in range(count) for u in range(t)}
        rows.append((places, 0, problem.at_once))
    matrix = lil_array((len(rows), size))
    for number, (row, _, _) in enumerate(rows):
        for column, value in row.items():
            matrix[number, column] = value
    cost = np.zeros(size)
    cost[-1] = 1
    found = milp(
        cost,
        constraints=LinearConstraint(matrix.tocsr(), [row[1] for row in rows], [row[2] for row in rows]),
        integrality=np.concatenate([np.ones(2 * block), np.zeros(block + 1)]),
        bounds=Bounds(0, upper),
        options={"time_limit": 60},
    )
    assert found.success
    return round(found.fun)


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4, 7, 8])
def test_the_program_over_slots_finds_nothing_shorter(seed: int) -> None:
    problem = build(seed)
    found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    assert get_makespan(found.windows) == solve_over_slots(problem)


def test_a_search_without_effort_still_gives_a_schedule_and_a_bound() -> None:
    for seed in range(30):
        problem = build(seed)
        quick = search_schedule(problem, Deadline(0.0), max_nodes=0)
        best = search_schedule(problem, Deadline(None))
        assert quick.windows is not None
        windows, shares = share_time(problem, quick.windows)
        assert find_faults(problem, windows, shares) == []
        assert quick.lower_bound <= best.lower_bound <= get_makespan(quick.windows)


def search_alone(problem: Problem) -> int:
    """Return the makespan that the search finds without a schedule by rules to start from."""
    with patch("ontology.analysis.schedule.schedule_search.find_by_rules", return_value=None):
        found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    return get_makespan(found.windows)


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_hours_go_first_to_the_task_that_another_waits_for(order: tuple[int, ...]) -> None:
    # a: 6 units, then c for 6 slots; b: 4 units, 12 slots long: 12 in all, where a is given its units before b
    rows = [("a", 6, 1, ""), ("b", 4, 12, ""), ("c", 0, 6, "a")]
    ids = [rows[n][0] for n in order]
    tasks = tuple(
        Task(name, work, length, 0, tuple(frozenset({ids.index(other)}) for other in needs))
        for name, work, length, needs in (rows[n] for n in order)
    )
    assert search_alone(Problem(tasks, Grid([1] * 60), 2)) == 12


@pytest.mark.parametrize("seed", range(40))
def test_the_search_alone_is_as_short_as_with_rules(seed: int) -> None:
    problem = build(seed)
    with_rules = search_schedule(problem, Deadline(None))
    assert with_rules.windows is not None
    assert search_alone(problem) == get_makespan(with_rules.windows)


def test_long_schedules_of_fifteen_tasks_keep_every_rule() -> None:
    for seed in range(25):
        rng = random.Random(seed)
        tasks = []
        for number in range(15):
            groups = rng.choice((0, 0, 1, 1, 2)) if number else 0
            needs = tuple(
                frozenset(rng.sample(range(number), min(number, rng.choice((1, 1, 2))))) for _ in range(groups)
            )
            work, weeks = rng.choice((0, 2, 4, 8, 16, 24, 40)), rng.choice((0, 1, 1, 1, 2, 4, 12, 26))
            tasks.append(Task(f"t{number}", work * 300, max(1, 5 * weeks), rng.choice((0, 0, 10)), needs))
        grid = Grid([0 if rng.random() < 0.05 else 240 for _ in range(4000)])
        problem = Problem(tuple(tasks), grid, rng.randint(1, 4))
        found = search_schedule(problem, Deadline(None), max_nodes=100)
        assert found.windows is not None
        windows, shares = share_time(problem, found.windows)
        assert find_faults(problem, windows, shares) == []
        assert found.lower_bound <= get_makespan(windows) <= get_makespan(found.windows)


def test_the_same_problem_gives_the_same_schedule() -> None:
    assert search_schedule(build(3), Deadline(None)) == search_schedule(build(3), Deadline(None))


@pytest.mark.parametrize(
    ("windows", "shares", "words"),
    [
        ([(0, 0), (2, 2)], [{0: 2}, {2: 1}], "fewer slots"),
        ([(0, 1), (1, 1)], [{0: 2}, {1: 1}], "needs has ended"),
        ([(0, 1), (2, 2)], [{0: 1}, {2: 1}], "other work"),
        ([(0, 1), (2, 2)], [{0: 3, 1: -1}, {2: 1}], "other work"),
        ([(0, 1), (2, 2)], [{0: 1, 2: 1}, {2: 1}], "outside its window"),
        ([(0, 3), (4, 4)], [{0: 2}, {4: 1}], "on a holiday"),
        ([(0, 1), (5, 5)], [{0: 2}, {5: 1}], "after its deadline"),
        ([(0, 2), (2, 2)], [{0: 1, 2: 1}, {2: 2}], "gives more"),
        ([(0, 2), (2, 2)], [{0: 2}, {2: 1}], "too many"),
        ([(0, 9), (2, 2)], [{0: 2}, {2: 1}], "outside the grid"),
    ],
)
def test_every_broken_rule_is_told(windows: list[tuple[int, int]], shares: list[dict[int, int]], words: str) -> None:
    tasks = (Task("a", 2, 2), Task("b", 1, 1, 1, (frozenset({0}),), 4))
    problem = Problem(tasks, Grid([2, 2, 2, 0, 2, 2]), 1)
    assert find_faults(problem, [Window(0, 1), Window(2, 2)], [{0: 2}, {2: 1}]) == []
    assert any(words in fault for fault in find_faults(problem, [Window(*w) for w in windows], shares))


def test_a_task_that_begins_a_slot_too_early_breaks_a_rule() -> None:
    problem = Problem((Task("a", 5, 1, release=1),), Grid([5, 5]), 1)
    assert find_faults(problem, [Window(0, 0)], [{0: 5}]) == ["a begins before it may"]
    assert find_faults(problem, [Window(1, 1)], [{1: 5}]) == []


def test_work_that_does_not_fit_into_its_window_has_no_shares() -> None:
    tasks = (Task("a", 10, 1),)
    assert earn_in_order(tasks, [Window(0, 0)], [0], [5, 5]) is None
    assert earn_in_order(tasks, [Window(0, 1)], [0], [5, 5]) == {0: {0: 5, 1: 5}}
