"""What a schedule may claim when its search is cut short, and windows too short for their work."""

from __future__ import annotations

import random

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.schedule_hours import earn_in_order
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid


def draw_problem(seed: int) -> Problem:
    """Return tasks that get into each other's way: few at once, with conditions and times they cannot begin before."""
    rng = random.Random(seed)
    tasks = [
        Task(
            f"t{n}",
            rng.randint(0, 9),
            rng.randint(1, 6),
            rng.choice((0, 0, 3)),
            (frozenset({rng.randrange(n)}),) if n and rng.random() < 0.4 else (),
        )
        for n in range(6)
    ]
    return Problem(tuple(tasks), Grid([3] * 60), 2)


def test_search_without_any_choice_left_proves_only_what_its_bound_meets() -> None:
    open_ones = 0
    for seed in range(120):
        problem = draw_problem(seed)
        found = search_schedule(problem, Deadline(None), max_nodes=0)
        whole = search_schedule(problem, Deadline(None))
        assert found.windows is not None
        assert whole.windows is not None
        assert whole.is_proved
        assert found.lower_bound <= get_makespan(whole.windows) <= get_makespan(found.windows)
        assert found.is_proved == (found.lower_bound == get_makespan(found.windows))
        open_ones += not found.is_proved
    assert open_ones


def test_window_that_is_a_slot_too_short_for_its_work_has_no_shares() -> None:
    task = Task("t", 4, 1)
    assert earn_in_order([task], [Window(1, 2)], [0], [2] * 5) == {0: {1: 2, 2: 2}}
    assert earn_in_order([task], [Window(1, 1)], [0], [2] * 5) is None
    other = Task("u", 2, 1)
    assert earn_in_order([task, other], [Window(0, 2), Window(1, 1)], [0, 1], [2] * 5) == {0: {0: 2, 2: 2}, 1: {1: 2}}
    assert earn_in_order([task, other], [Window(0, 1), Window(1, 1)], [0, 1], [2] * 5) is None
