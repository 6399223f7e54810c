"""Courses held in one piece: their own weeks, and hours that count against the study hours from then on."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.schedule.owed_hours import pay_owed, take_owed
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.analysis.schedule.schedule_check import find_faults
from ontology.analysis.schedule.schedule_model import Problem, Task, Window
from ontology.analysis.schedule.schedule_result import ScheduleResult
from ontology.analysis.schedule.study_calendar import Grid

MONDAY = date(2026, 11, 30)


def plan(*courses: dict[str, Any], rate: float = 3.0, **more: Any) -> ScheduleResult:
    """Return the schedule of courses, each of which reaches a competency named like it."""
    ids = [row["id"] for row in courses]
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(ids)),
        courses=[{"label": row["id"]} | row for row in courses],
        outcomes=[{"course": i, "competency": i, "level": 1} for i in ids],
        **more,
    )
    profile = Profile({}, kind="role")
    path = find_path_to_levels(snapshot, profile, dict.fromkeys(ids, 1))
    return plan_schedule(snapshot, profile, path, on=MONDAY, study_hours_per_week=rate)


def test_a_course_held_in_one_piece_takes_its_own_weeks_whatever_the_hours_a_week() -> None:
    result = plan({"id": "a", "hours": 8.0, "weeks": 1.0, "method": "workshop"})
    (course,) = result.courses
    assert (course.first_day, course.last_day, course.study_hours) == (MONDAY, date(2026, 12, 4), 8)
    assert [(week.monday, week.study_hours) for week in course.weeks] == [(MONDAY, 8)]
    # 8 h at 3 a week: two weeks, and two thirds of the third
    assert [remark for remark in result.remarks if "until 2026-12-17" in remark and "8 h" in remark]
    assert result.status == "optimal"
    # the same course by itself, spread over the weeks
    (spread,) = plan({"id": "a", "hours": 8.0, "weeks": 1.0, "method": "self-paced"}).courses
    assert spread.last_day == date(2026, 12, 17)


def test_without_weeks_of_its_own_a_block_takes_its_hours_at_forty_a_week() -> None:
    (course,) = plan({"id": "a", "hours": 100.0, "is_block": True}).courses
    assert (course.first_day, course.last_day) == (MONDAY, date(2026, 12, 16))


def test_the_hours_of_a_block_count_against_those_of_the_weeks_after_it() -> None:
    # what follows the block waits until its 12 h are paid: four weeks at 3 h, then one of its own
    courses = (
        {"id": "a", "hours": 12.0, "weeks": 1.0, "is_block": True},
        {"id": "b", "hours": 3.0},
    )
    result = plan(*courses, entry_conditions=[{"course": "b", "competency": "a", "level": 1}])
    assert result.finish == date(2027, 1, 1)
    # where nothing waits for it the block is held last, and keeps nothing back
    result = plan(*courses)
    assert (result.finish, result.status) == (date(2026, 12, 11), "optimal")
    assert [course.id for course in result.courses] == ["b", "a"]


def test_a_block_begins_when_the_work_before_it_is_done_although_that_takes_longer() -> None:
    # t0 has earned its work in two slots and runs for six: the block may begin in the third
    tasks = (Task("t0", 2, 6), Task("t1", 0, 5, owed=9), Task("t2", 0, 2, needs=(frozenset({0}),)))
    problem = Problem(tasks, Grid([1] * 30), 2)
    windows = (Window(0, 5), Window(2, 6), Window(6, 7))
    assert find_faults(problem, windows, ({0: 1, 1: 1}, {}, {})) == []
    early = (Window(0, 5), Window(1, 5), Window(6, 7))
    assert find_faults(problem, early, ({0: 1, 1: 1}, {}, {})) == ["slot 1 gives more than it has"]


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        # one after the other, sharing the slot in which the first is paid
        (0, 1, ({0: 2, 1: 1}, {1: 1, 2: 1})),
        # the second has its own time where the first is paid before
        (0, 3, ({0: 2, 1: 1}, {3: 2})),
    ],
)
def test_what_is_owed_is_paid_first_come_first_paid(
    first: int, second: int, expected: tuple[dict[int, int], ...]
) -> None:
    problem = Problem((Task("a", 0, 1, owed=3), Task("b", 0, 1, owed=2)), Grid([2] * 9), 2)
    windows = (Window(first, first), Window(second, second))
    assert pay_owed(problem, windows) == expected
    rest = take_owed(problem, windows)
    assert sum(problem.grid.capacity) - sum(rest.grid.capacity) == 5
    assert [task.owed for task in rest.tasks] == [0, 0]
