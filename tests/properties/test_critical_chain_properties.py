"""Slack and critical chain on random small problems, against living through every slot with one task kept back.

The others begin no earlier than planned: `brute_schedule` then tells exactly whether the end can stand.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from brute_schedule import find_least_slots
from critical_chains import find_chain
from effort import draws

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.critical_chain import build_link_graph, find_critical_chain, measure_slack
from ontology.analysis.schedule.effort import Effort
from ontology.analysis.schedule.schedule_hours import Share, share_time
from ontology.analysis.schedule.schedule_model import Problem, Task, Window, get_makespan
from ontology.analysis.schedule.schedule_search import can_end_by, search_schedule
from ontology.analysis.schedule.study_calendar import Grid

SEEDS = range(draws(250))


def draw_problem(seed: int, *, has_deadlines: bool = False) -> Problem:
    rng = random.Random(seed)
    capacity = rng.randint(1, 3)
    holidays = set(rng.sample(range(1, 12), rng.randint(0, 3)))
    tasks = [
        Task(
            f"t{number}",
            rng.randint(0, 4),
            rng.randint(1, 3),
            rng.choice((0, 0, 0, 2)),
            (frozenset(rng.sample(range(number), min(2, number))),) if number and rng.random() < 0.5 else (),
            rng.randint(3, 9) if has_deadlines and rng.random() < 0.3 else None,
        )
        for number in range(rng.randint(1, 4))
    ]
    grid = Grid([0 if slot in holidays else capacity for slot in range(40)])
    return Problem(tuple(tasks), grid, rng.randint(1, 3))


def place(problem: Problem) -> tuple[tuple[Window, ...], tuple[Share, ...]] | None:
    found = search_schedule(problem, Deadline(None))
    return None if found.windows is None else share_time(problem, found.windows)


def keep_back(problem: Problem, windows: Sequence[Window], delayed: int, slots: int) -> Problem:
    tasks = [
        replace(task, release=window.first + (slots if number == delayed else 0))
        for number, (task, window) in enumerate(zip(problem.tasks, windows, strict=True))
    ]
    return replace(problem, tasks=tuple(tasks))


def test_a_task_can_be_late_by_its_slack_and_by_no_slot_more() -> None:
    some = 0
    for seed in SEEDS:
        problem = draw_problem(seed, has_deadlines=seed % 3 == 0)
        placed = place(problem)
        if placed is None:
            continue
        windows, _ = placed
        end = get_makespan(windows)
        for number, slack in enumerate(measure_slack(problem, windows)):
            assert slack.is_proved
            least = find_least_slots(keep_back(problem, windows, number, slack.slots))
            assert least is not None
            assert least <= end
            least = find_least_slots(keep_back(problem, windows, number, slack.slots + 1))
            assert least is None or least > end
            some += slack.slots > 0
    assert some > len(SEEDS) / 3, "too few tasks with slack to mean anything"


def test_each_task_of_the_chain_moves_the_end_when_it_is_a_slot_late() -> None:
    chains = 0
    for seed in SEEDS:
        problem = draw_problem(seed, has_deadlines=seed % 3 == 0)
        placed = place(problem)
        if placed is None:
            continue
        windows, shares = placed
        end = get_makespan(windows)
        chain = find_chain(problem, windows, shares)
        free = replace(problem, tasks=tuple(replace(task, deadline=None) for task in problem.tasks))
        for number in chain:
            least = find_least_slots(keep_back(free, windows, number, 1))
            assert least is not None
            assert least > end
        chains += len(chain) > 1
    assert chains > len(SEEDS) / 5, "too few chains to mean anything"


def test_a_chain_runs_from_the_start_to_the_end_without_a_gap_and_none_is_told_only_where_there_is_none() -> None:
    without = 0
    for seed in SEEDS:
        problem = draw_problem(seed)
        placed = place(problem)
        assert placed is not None
        windows, shares = placed
        end = get_makespan(windows)
        chain = find_chain(problem, windows, shares)
        links = build_link_graph(problem, windows, shares)
        strict = [number for number, slack in enumerate(measure_slack(problem, windows)) if not slack.slots]
        firsts = {n for n in strict if windows[n].first <= problem.grid.get_working(problem.tasks[n].release)}
        # whatever the links lead to from a first task, by hand
        reached = set(firsts)
        for _ in strict:
            reached |= {head for tail, head in links.edges if tail in reached and head in strict}
        assert bool(chain) == any(windows[n].last + 1 == end for n in reached)
        without += not chain
        if not chain:
            continue
        assert chain[0] in firsts
        assert windows[chain[-1]].last + 1 == end
        for before, after in pairwise(chain):
            kind = links.edges[before, after]["kind"]
            slot = problem.grid.get_working_before(windows[after].first - 1)
            assert windows[before].last in ((slot, windows[after].first) if kind == "hours" else (slot,))
    assert without, "no case in which the hours are shared so that no chain holds the end"


def test_the_effort_of_a_trial_ends_and_what_is_not_proved_is_no_link() -> None:
    open_ones = 0
    for seed in SEEDS:
        problem = draw_problem(seed)
        placed = place(problem)
        assert placed is not None
        windows, shares = placed
        exact = measure_slack(problem, windows)
        hasty = measure_slack(problem, windows, max_nodes=0)
        for slack, true in zip(hasty, exact, strict=True):
            assert slack.slots <= true.slots
            assert slack == true or not slack.is_proved
        unproved = {number for number, slack in enumerate(hasty) if not slack.is_proved}
        assert unproved.isdisjoint(
            find_critical_chain(problem, windows, build_link_graph(problem, windows, shares), hasty)
        )
        open_ones += len(unproved)
    assert open_ones


def test_whether_everything_can_end_by_a_slot_is_what_the_shortest_schedule_says() -> None:
    for seed in SEEDS:
        problem = draw_problem(seed, has_deadlines=True)
        least = find_least_slots(problem)
        for slots in (4, 6, 8, 12):
            can_end = can_end_by(problem, slots, Effort(10_000, Deadline(None)))
            assert can_end is (least is not None and least <= slots)
