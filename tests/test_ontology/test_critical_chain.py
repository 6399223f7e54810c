"""Critical chains of small problems worked out by hand, where one rule of theirs decides."""

from __future__ import annotations

from collections.abc import Sequence

from critical_chains import find_chain

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.critical_chain import build_link_graph, measure_slack
from ontology.analysis.schedule.schedule_hours import share_time
from ontology.analysis.schedule.schedule_model import Problem, Task, Window
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid


def place(problem: Problem) -> tuple[Window, ...]:
    found = search_schedule(problem, Deadline(None))
    assert found.windows is not None
    return found.windows


def name_chain(problem: Problem) -> list[str]:
    windows, shares = share_time(problem, place(problem))
    return [problem.tasks[n].id for n in find_chain(problem, windows, shares)]


def build(tasks: Sequence[Task], *, capacity: int = 1, at_once: int = 2) -> Problem:
    return Problem(tuple(tasks), Grid([capacity] * 40), at_once)


def test_hours_link_two_tasks_in_a_slot_that_both_share() -> None:
    # 19 and 11 halves of a slot: one ends in the middle of the slot in which the other begins
    problem = build([Task("a", 19, 1), Task("b", 11, 1)], capacity=2)
    windows, shares = share_time(problem, place(problem))
    first, then = sorted(range(2), key=lambda n: windows[n].first)
    assert windows[first].last == windows[then].first
    assert build_link_graph(problem, windows, shares).edges[first, then]["kind"] == "hours"
    assert find_chain(problem, windows, shares) == (first, then)


def test_what_only_a_deadline_holds_is_no_link_to_the_end() -> None:
    # c needs a or b: a late a moves no end, but misses its deadline
    either = (frozenset({0, 1}),)
    tasks = [Task("a", 0, 3, deadline=2), Task("b", 0, 3), Task("c", 0, 5, needs=either)]
    problem = build(tasks)
    assert [slack.slots for slack in measure_slack(problem, place(problem))] == [0, 5, 0]
    assert name_chain(problem) == []


def test_of_two_chains_the_one_that_begins_with_the_plan_is_told() -> None:
    # b alone holds the end too, but begins a slot after the plan
    tasks = [Task("a", 0, 1), Task("b", 0, 5, release=1), Task("c", 0, 5, needs=(frozenset({0}),))]
    assert name_chain(build(tasks, at_once=3)) == ["a", "c"]
