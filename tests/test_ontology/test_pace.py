"""How long a course takes: working time, study time, blocks; exact in the decimals written."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest

from ontology.analysis.paths.pace import get_days, get_study_weeks, get_working_weeks
from ontology.model.framework_tables import COURSES
from ontology.model.records import Course


def make_course(hours: float, weeks: float | None = None, **more: Any) -> Course:
    course: Course = COURSES.build(id="k", label="K", hours=hours, weeks=weeks, **more)
    return course


@pytest.mark.parametrize(
    ("hours", "weeks", "expected"),
    [(80, None, 2), (80, 3.0, 3), (0, 1.5, Fraction(3, 2)), (4, None, Fraction(1, 10)), (0, None, 0)],
)
def test_working_time_is_forty_hours_a_week_or_the_course_s_own_weeks(
    hours: float, weeks: float, expected: Any
) -> None:
    assert get_working_weeks(make_course(hours, weeks)) == expected


@pytest.mark.parametrize(
    ("course", "pace", "expected"),
    [
        (make_course(8), 3.0, Fraction(8, 3)),
        (make_course(8, 4.0), 3.0, 4),
        (make_course(0.3), 0.1, 3),
        (make_course(8), 0.0, None),
        (make_course(0, 2.0), 0.0, 2),
        (make_course(8, 1.0, is_block=True), 3.0, 1),
        (make_course(100, 1.0, is_block=True), 3.0, Fraction(5, 2)),
        (make_course(8, 1.0, is_block=True), 0.0, 1),
    ],
)
def test_study_time_goes_by_the_learner_s_hours_and_a_block_takes_its_own_weeks(
    course: Course, pace: float, expected: Any
) -> None:
    assert get_study_weeks(course, pace) == expected


@pytest.mark.parametrize(
    ("method", "is_block"),
    [("workshop", True), ("Classroom ", True), ("self-paced", False), ("", False), ("coaching on the job", False)],
)
def test_methods_held_in_one_piece_are_blocks_unless_the_table_says_otherwise(method: str, is_block: bool) -> None:
    assert make_course(8, method=method).is_block is is_block
    assert make_course(8, method=method, is_block=not is_block).is_block is not is_block


def test_a_day_that_is_begun_counts_whole() -> None:
    refresher = make_course(4, lead_weeks=1.0)
    days = get_days(Fraction(1) + get_working_weeks(refresher))
    assert date(2026, 12, 20) - timedelta(days=days) == date(2026, 12, 12)
    assert [get_days(Fraction(0)), get_days(Fraction(1, 7)), get_days(Fraction(1, 7) + Fraction(1, 10**9))] == [0, 1, 2]
