"""Schedules on random small problems: as short as living through every slot finds, and never against a rule."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from unittest.mock import patch

from brute_schedule import find_least_slots
from company_strategies import draw_profiles, draw_snapshots
from critical_chains import find_chain
from effort import draws
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.schedule.critical_chain import build_link_graph, measure_slack
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.analysis.schedule.schedule_bound import Bound
from ontology.analysis.schedule.schedule_check import find_faults
from ontology.analysis.schedule.schedule_hours import share_time
from ontology.analysis.schedule.schedule_model import Problem, Task, get_makespan
from ontology.analysis.schedule.schedule_search import search_schedule
from ontology.analysis.schedule.study_calendar import Grid
from ontology.snapshot.snapshot import Snapshot

SLOTS = 40


@st.composite
def draw_problems(draw: st.DrawFn, *, tasks: int, work: int, length: int, has_deadlines: bool = False) -> Problem:
    count = draw(st.integers(1, tasks))
    capacity = draw(st.integers(1, 3))
    holidays = draw(st.sets(st.integers(0, SLOTS - 2), max_size=6))
    rows = []
    for number in range(count):
        earlier = st.frozensets(st.integers(0, number - 1), min_size=1, max_size=2)
        needs = draw(st.lists(earlier, max_size=2)) if number else []
        deadline = draw(st.none() | st.integers(2, 12)) if has_deadlines else None
        release = draw(st.sampled_from((0, 0, 1, 5)))
        hours, least = draw(st.integers(0, work)), draw(st.integers(1, length))
        is_block = draw(st.booleans()) and hours > 0
        rows.append(
            Task(
                f"t{number}",
                0 if is_block else hours,
                least,
                release,
                tuple(needs),
                deadline,
                hours if is_block else 0,
            )
        )
    grid = Grid([0 if slot in holidays else capacity for slot in range(SLOTS)])
    return Problem(tuple(rows), grid, draw(st.integers(1, 3)))


@given(draw_problems(tasks=4, work=4, length=4))
@settings(max_examples=draws(60), deadline=None)
def test_no_schedule_is_shorter(problem: Problem) -> None:
    found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    assert get_makespan(found.windows) == find_least_slots(problem) == found.lower_bound


@given(draw_problems(tasks=4, work=6, length=3))
@settings(max_examples=draws(100), deadline=None)
def test_the_search_finds_the_shortest_without_the_rules_of_thumb(problem: Problem) -> None:
    with patch("ontology.analysis.schedule.schedule_search.find_by_rules", return_value=None):
        found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    assert get_makespan(found.windows) == find_least_slots(problem)


@given(draw_problems(tasks=4, work=3, length=3, has_deadlines=True))
@settings(max_examples=draws(60), deadline=None)
def test_no_schedule_that_keeps_the_deadlines_is_shorter_and_none_is_said_where_there_is_none(problem: Problem) -> None:
    found = search_schedule(problem, Deadline(None))
    assert found.is_proved
    least = find_least_slots(problem)
    assert (None if found.windows is None else get_makespan(found.windows)) == least


def build_long_grid(problem: Problem) -> Problem:
    """Return the problem with room for all of its tasks one after the other."""
    capacity = list(problem.grid.capacity)
    return Problem(problem.tasks, Grid(capacity + [problem.grid.largest] * 400), problem.at_once)


@given(draw_problems(tasks=10, work=20, length=15))
@settings(max_examples=draws(50), deadline=None)
def test_a_schedule_keeps_precedence_places_hours_and_holidays(problem: Problem) -> None:
    problem = build_long_grid(problem)
    found = search_schedule(problem, Deadline(None), max_nodes=200)
    assert found.windows is not None
    windows, shares = share_time(problem, found.windows)
    assert find_faults(problem, windows, shares) == []
    assert get_makespan(windows) <= get_makespan(found.windows)
    assert found.lower_bound <= get_makespan(windows)
    if found.is_proved:
        assert found.lower_bound == get_makespan(windows)


@given(draw_problems(tasks=7, work=10, length=8))
@settings(max_examples=draws(40), deadline=None)
def test_a_task_kept_back_by_its_slack_does_not_move_the_end(problem: Problem) -> None:
    problem = build_long_grid(problem)
    found = search_schedule(problem, Deadline(None), max_nodes=500)
    assert found.windows is not None
    windows, _ = share_time(problem, found.windows)
    end = get_makespan(windows)
    for number, slack in enumerate(row.slots for row in measure_slack(problem, windows)):
        task = problem.tasks[number]
        assert 0 <= slack <= end - windows[number].first - task.length
        # as an independent statement: with this release the problem still has a schedule of this length
        late = [
            Task(t.id, t.work, t.length, windows[n].first + (slack if n == number else 0), t.needs)
            for n, t in enumerate(problem.tasks)
        ]
        kept = search_schedule(Problem(tuple(late), problem.grid, problem.at_once), Deadline(None), max_nodes=1_000)
        assert kept.lower_bound <= end
        if kept.is_proved:
            assert kept.windows is not None
            assert get_makespan(kept.windows) <= end


@given(draw_problems(tasks=8, work=10, length=8))
@settings(max_examples=draws(60), deadline=None)
def test_the_critical_chain_ends_with_the_last_task_and_has_no_gap(problem: Problem) -> None:
    problem = build_long_grid(problem)
    found = search_schedule(problem, Deadline(None), max_nodes=500)
    assert found.windows is not None
    windows, shares = share_time(problem, found.windows)
    chain = find_chain(problem, windows, shares)
    assume(chain)
    assert windows[chain[-1]].last + 1 == get_makespan(windows)
    links = build_link_graph(problem, windows, shares)
    for before, after in pairwise(chain):
        assert links.has_edge(before, after)
        assert windows[before].first < windows[after].first
        assert problem.grid.get_working(windows[before].last + 1) >= windows[after].first, "a gap"


@given(draw_problems(tasks=5, work=4, length=4), st.data())
@settings(max_examples=draws(60), deadline=None)
def test_one_task_less_never_takes_longer(problem: Problem, data: st.DataObject) -> None:
    gone = data.draw(st.integers(0, len(problem.tasks) - 1))
    # whoever could wait for it does so no longer
    rest = [
        Task(t.id, t.work, t.length, t.release, tuple(g for g in t.needs if gone not in g))
        for n, t in enumerate(problem.tasks)
        if n != gone
    ]
    numbers = [n for n in range(len(problem.tasks)) if n != gone]
    renamed = [
        Task(t.id, t.work, t.length, t.release, tuple(frozenset(numbers.index(j) for j in g) for g in t.needs))
        for t in rest
    ]
    assert count_slots(renamed, problem) <= count_slots(problem.tasks, problem)


def count_slots(tasks: Sequence[Task], problem: Problem) -> int:
    found = search_schedule(Problem(tuple(tasks), problem.grid, problem.at_once), Deadline(None))
    assert found.is_proved
    assert found.windows is not None
    return get_makespan(found.windows)


@given(draw_problems(tasks=6, work=6, length=5))
@settings(max_examples=draws(60), deadline=None)
def test_the_bound_is_never_above_a_schedule(problem: Problem) -> None:
    bound = Bound(problem).get_root()
    found = search_schedule(problem, Deadline(None))
    assert found.windows is not None
    assert bound <= get_makespan(found.windows)


@given(draw_snapshots(competencies=5, courses=7), st.data())
@settings(max_examples=draws(40), deadline=None)
def test_the_days_of_a_calendar_keep_what_the_courses_ask(snapshot: Snapshot, data: st.DataObject) -> None:
    profile = data.draw(draw_profiles(snapshot))
    targets = data.draw(st.dictionaries(st.sampled_from(list(snapshot.competencies)), st.integers(1, 4), max_size=3))
    path = find_path_to_levels(snapshot, profile, targets)
    assume(path.courses)
    on = date(2026, 11, 24) + timedelta(days=data.draw(st.integers(0, 6)))
    holidays = data.draw(st.sets(st.dates(on, on + timedelta(days=40)), max_size=8))
    rate = data.draw(st.sampled_from((0.5, 2.0, 4.0, 37.5)))
    at_once = data.draw(st.integers(1, 3))
    result = plan_schedule(
        snapshot, profile, path, on=on, study_hours_per_week=rate, at_once=at_once, holidays=holidays, max_nodes=200
    )
    assert {c.id for c in result.courses} == {c.id for c in path.courses}
    days: dict[date, int] = {}
    level_from: dict[tuple[str, int], list[date]] = {}
    weekly: dict[date, float] = {}
    for course in result.courses:
        record = snapshot.courses[course.id]
        for day in (course.first_day, course.last_day):
            assert day.weekday() < 5
            assert day not in holidays
        assert course.first_day >= on + timedelta(weeks=record.lead_weeks)
        span = [course.first_day + timedelta(days=n) for n in range((course.last_day - course.first_day).days + 1)]
        assert sum(day.weekday() < 5 for day in span) >= 5 * (record.weeks or 0) - 1e-6
        for day in span:
            days[day] = days.get(day, 0) + 1
        for outcome in snapshot.get_outcomes(course.id):
            level_from.setdefault((outcome.competency, outcome.level), []).append(course.last_day)
        for week in course.weeks:
            weekly[week.monday] = weekly.get(week.monday, 0) + week.study_hours
        assert abs(sum(week.study_hours for week in course.weeks) - course.study_hours) < 0.01
        assert course.study_hours == round(record.hours * 60) / 60
    assert max(days.values()) <= at_once
    for monday, hours in weekly.items():
        free = sum((monday + timedelta(days=n)) not in holidays for n in range(5))
        assert hours <= rate * free / 5 + 0.01
    for course in result.courses:
        for condition in snapshot.get_entry_conditions(course.id):
            ends = [
                end
                for (competency, level), ends in level_from.items()
                if competency == condition.competency and level >= condition.level
                for end in ends
            ]
            held = profile.get(condition.competency) >= condition.level
            assert held or any(end < course.first_day for end in ends)
    assert result.finish == max(course.last_day for course in result.courses)
    assert result.lower_bound is not None
    assert result.lower_bound <= result.finish
