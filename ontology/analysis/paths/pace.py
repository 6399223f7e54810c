"""How long a course takes: working time for a team's hole, study time for a learner's own plan. Pure.

One place for every answer, in exact fractions of the decimals written. May import records and the reading of decimals.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from ontology.analysis.paths.aims import read_decimal
from ontology.model.records import Course

__all__ = ["WORKING_HOURS_PER_WEEK", "compute_months", "get_days", "get_study_weeks", "get_working_weeks"]

#: Closing a team's hole is paid working time. Common practice, no source.
WORKING_HOURS_PER_WEEK: Final = 40
_DAYS_A_WEEK: Final = 7


def get_working_weeks(course: Course) -> Fraction:
    """Return the weeks a course takes in paid working time: its own, or its hours at 40 a week where that is longer."""
    return max(_get_own_weeks(course), read_decimal(course.hours) / WORKING_HOURS_PER_WEEK)


def get_study_weeks(course: Course, study_hours_per_week: float) -> Fraction | None:
    """Return the weeks a course takes in a learner's study time: its own, or its hours at the learner's where longer.

    A block course is held in one piece and takes its own weeks, whatever the learner's hours. None where a course that
    is none has hours and the learner has none.
    """
    if course.is_block:
        return get_working_weeks(course)
    if not course.hours:
        return _get_own_weeks(course)
    if study_hours_per_week <= 0:
        return None
    return max(_get_own_weeks(course), read_decimal(course.hours) / read_decimal(study_hours_per_week))


def get_days(weeks: Fraction) -> int:
    """Return the days of so many weeks, a day that is begun counted whole.

    Examples
    --------
    >>> get_days(Fraction(1) + Fraction(4, 40))
    8
    """
    return math.ceil(weeks * _DAYS_A_WEEK)


def compute_months(study_minutes: int, study_hours_per_week: float) -> float | None:
    """Return the months that study takes at so many hours a week, 52/12 weeks a month.

    None where there is something to study and no time for it.

    Examples
    --------
    >>> compute_months(52 * 60, 4.0)
    3.0
    """
    if not study_minutes:
        return 0.0
    if study_hours_per_week <= 0:
        return None
    return float(Fraction(study_minutes, 60) / Fraction(study_hours_per_week) * Fraction(12, 52))


def _get_own_weeks(course: Course) -> Fraction:
    return read_decimal(course.weeks or 0)
