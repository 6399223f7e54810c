"""Schedules with deadlines, holidays and few places: against living through every slot, and rules of thumb by hand."""

from __future__ import annotations

import random
from unittest.mock import patch

import pytest
from brute_schedule import find_least_slots

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_rules import build_by_rule, find_by_rules
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid


def search_alone(problem: Problem) -> int | None:
    """Return the makespan that is proved without a schedule by rules to start from; None where there is none."""
    with patch("ontology.analysis.schedule.schedule_search.find_by_rules", return_value=None):
        found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    return None if found.windows is None else get_makespan(found.windows)


def draw_problem(seed: int) -> Problem:
    """Return up to four tasks, some with a deadline that other tasks and holidays make hard to keep."""
    rng = random.Random(seed)
    tasks = []
    for n in range(rng.randint(2, 4)):
        groups = rng.choice((0, 0, 1, 2)) if n else 0
        needs = tuple(frozenset(rng.sample(range(n), min(n, rng.choice((1, 1, 2))))) for _ in range(groups))
        deadline = rng.randint(2, 9) if rng.random() < 0.4 else None
        tasks.append(Task(f"t{n}", rng.randint(0, 5), rng.randint(1, 4), rng.choice((0, 0, 2)), needs, deadline))
    capacity = rng.randint(1, 2)
    grid = Grid([0 if rng.random() < 0.15 else capacity for _ in range(30)] + [capacity] * 10)
    return Problem(tuple(tasks), grid, rng.randint(1, 3))


def test_the_search_alone_finds_every_deadline_that_can_be_kept_and_no_other() -> None:
    kept = missed = 0
    for seed in range(250):
        problem = draw_problem(seed)
        least = find_least_slots(problem)
        assert search_alone(problem) == least, seed
        if any(task.deadline is not None for task in problem.tasks):
            kept += least is not None
            missed += least is None
    assert min(kept, missed) >= 10


def test_what_failed_late_says_nothing_about_what_comes_earlier() -> None:
    # the same tasks done: first seen a slot later than need be, where nothing fits any more, then in time
    tasks = (
        Task("one", 4, 4, 0, (), 3),
        Task("two", 0, 4, 2),
        Task("three", 1, 1),
        Task("four", 0, 3, 2, (frozenset({1}),)),
        Task("five", 6, 3, 2, (frozenset({1, 3}),)),
    )
    problem = Problem(tasks, Grid([1] * 40), 2)
    assert find_least_slots(problem) == 12
    assert search_alone(problem) == 12


def test_a_deadline_is_kept_on_its_last_slot_and_missed_on_the_next() -> None:
    for last in range(6):
        problem = Problem((Task("a", 4, 1, 0, (), last),), Grid([1] * 40), 1)
        windows = (Window(0, 3),) if last >= 3 else None
        assert build_by_rule(problem, [0], [0]) == windows
        assert search_alone(problem) == (4 if windows else None)
        found = search_schedule(problem, Deadline(None))
        assert (found.windows, found.is_proved) == (windows, True)


def test_a_deadline_behind_a_lead_time_and_a_condition_is_kept_to_the_slot() -> None:
    tasks = (Task("a", 1, 3), Task("b", 2, 1, 0, (frozenset({0}),), 4))
    assert search_alone(Problem(tasks, Grid([1] * 40), 2)) == 5
    assert search_alone(Problem((Task("b", 2, 1, 3, (), 4),), Grid([1] * 40), 1)) == 5
    assert search_alone(Problem((Task("b", 2, 1, 4, (), 4),), Grid([1] * 40), 1)) is None


def test_whoever_is_ranked_first_begins_first_and_is_given_time_first() -> None:
    two = (Task("a", 2, 1), Task("b", 3, 1))
    one_place = Problem(two, Grid([1] * 20), 1)
    assert build_by_rule(one_place, [0, 1], [0, 0]) == (Window(0, 1), Window(2, 4))
    assert build_by_rule(one_place, [1, 0], [0, 0]) == (Window(3, 4), Window(0, 2))
    two_places = Problem(two, Grid([1] * 20), 2)
    assert build_by_rule(two_places, [0, 0], [0, 1]) == (Window(0, 1), Window(0, 4))
    assert build_by_rule(two_places, [0, 0], [1, 0]) == (Window(0, 4), Window(0, 2))


def test_rules_put_the_task_with_a_deadline_before_longer_ones() -> None:
    # by length, work or what follows "long" would come first; only an order by deadlines keeps that of "soon"
    tasks = (Task("long", 9, 9), Task("longer", 8, 10), Task("soon", 3, 3, 0, (), 11), Task("sooner", 2, 2, 0, (), 1))
    problem = Problem(tasks, Grid([1] * 60), 1)
    found = find_by_rules(problem, (9, 10, 3, 2), 0, Deadline(0.0))
    assert found is not None
    assert (found[3].last, found[2].last <= 11) == (1, True)


@pytest.mark.parametrize("work", [0, 1])
def test_a_task_does_not_end_on_a_holiday(work: int) -> None:
    # four slots long, of which the third and fourth are holidays: it lasts until the fifth
    problem = Problem((Task("a", work, 4), Task("b", 1, 1)), Grid([1, 1, 0, 0] + [1] * 20), 1)
    assert build_by_rule(problem, [0, 1], [0, 1]) == (Window(0, 4), Window(5, 5))
    assert build_by_rule(problem, [1, 0], [0, 1]) == (Window(1, 4), Window(0, 0))
    # b first and then a, which holds its four slots and no more
    assert search_alone(problem) == find_least_slots(problem) == 5


def test_those_that_wait_for_their_last_slot_leave_the_hours_to_the_others() -> None:
    tasks = (Task("waits", 1, 6), Task("works", 4, 1), Task("follows", 2, 1, 0, (frozenset({1}),)))
    problem = Problem(tasks, Grid([1] * 20), 2)
    assert build_by_rule(problem, [0, 1, 2], [0, 1, 2]) == (Window(0, 5), Window(0, 4), Window(5, 6))
    assert search_alone(problem) == find_least_slots(problem) == 7
