"""One person's courses on exact days: when each begins and when it is done, one after the other. Pure.

May import relaxed problems, offers, pace and records. Closing a team's hole is paid working time: a course takes the
longer of its weeks and its hours at 40 a week, begins once its lead weeks are over and the one before has ended, and
its hours come first, in one go. Nothing begins on a day of recorded absence; hours stand still on such a day, and a
course off the job (strand formal) waits until its hours fit between two absences. Days are counted from the day asked
about, as exact fractions: with nothing in the way the days are those of `compute_course_time`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final, Protocol

from ontology.analysis.engine.relaxed import RelaxedProblem, find_applicable_order, find_closure
from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.offers import Offer
from ontology.analysis.paths.pace import WORKING_HOURS_PER_WEEK
from ontology.model.records import Course

__all__ = [
    "CourseLength",
    "LearnerDays",
    "PlacedTime",
    "Studying",
    "can_be_done_in_time",
    "get_course_length",
    "place_course",
]

_DAYS_A_WEEK: Final = 7

Absences = Sequence[tuple[int, int]]
"""First and last day of each absence, sorted, none overlapping another."""


@dataclass(frozen=True, slots=True)
class CourseLength:
    """How long a course takes, in days, and whether it takes people off the job.

    `lead` before it can begin, `own` of its weeks, `work` of its hours. `last_day` is that by which it must be done,
    from the day asked about: None without one.
    """

    lead: Fraction
    own: Fraction
    work: Fraction
    is_off_job: bool
    last_day: int | None = None

    @property
    def whole(self) -> Fraction:
        """Days from its begin to its end with nothing in the way."""
        return max(self.own, self.work)


def get_course_length(course: Course, last_day: int | None = None) -> CourseLength:
    """Return how long a course takes in paid working time, to be done by a day."""
    lead, own, work = _read_days(course.lead_weeks, course.weeks or 0.0, course.hours)
    return CourseLength(lead, own, work, course.strand == "formal", last_day)


@lru_cache(maxsize=4096)
def _read_days(lead_weeks: float, weeks: float, hours: float) -> tuple[Fraction, Fraction, Fraction]:
    return (
        read_decimal(lead_weeks) * _DAYS_A_WEEK,
        read_decimal(weeks) * _DAYS_A_WEEK,
        read_decimal(hours) * _DAYS_A_WEEK / WORKING_HOURS_PER_WEEK,
    )


@dataclass(frozen=True, slots=True)
class PlacedTime:
    """When a course begins, when its hours are spent, and when it ends."""

    operator: int
    begin: Fraction
    worked: Fraction
    end: Fraction

    @property
    def first_day(self) -> int:
        """The day it begins."""
        return math.floor(self.begin)

    @property
    def done_day(self) -> int:
        """The first day on which it is over: what it brings counts from then on."""
        return math.ceil(self.end)

    @property
    def free_day(self) -> int:
        """The first day on which all its hours are spent."""
        return math.ceil(self.worked)


class Studying(Protocol):
    """What the days of a learner depend on; see `Learner`."""

    @property
    def problem(self) -> RelaxedProblem: ...
    @property
    def offers(self) -> tuple[Offer, ...]: ...
    @property
    def lengths(self) -> tuple[CourseLength, ...]: ...
    @property
    def absences(self) -> Absences: ...


class LearnerDays:
    """A person's courses while they are placed one after the other.

    Parameters
    ----------
    operators : iterable of int
        Courses; those that can never be taken are left out.

    Attributes
    ----------
    placed : list of PlacedTime
        In the order in which they are taken.
    """

    def __init__(self, learner: Studying, operators: Iterable[int]) -> None:
        self.learner = learner
        self.placed: list[PlacedTime] = []
        self._waiting = find_applicable_order(learner.problem, operators)
        self._clock = Fraction(0)
        self._reached: frozenset[int] = find_closure(learner.problem, ())

    def get_next(self) -> PlacedTime | None:
        """Return the course that comes next, at the earliest; None where all are placed.

        Of the courses whose entry conditions are met that which can begin first, then the shortest: so nobody waits
        while there is something to do, and all of them end as early as they can.
        """
        lengths = self.learner.lengths
        conditions = self.learner.problem.conditions
        best = min(
            (
                (max(self._clock, lengths[o].lead), lengths[o].whole, self.learner.offers[o].id, o)
                for o in self._waiting
                if conditions[o] <= self._reached
            ),
            default=None,
        )
        return None if best is None else self.fit(best[3], best[0])

    def is_in_time(self, time: PlacedTime) -> bool:
        """Whether every course is done by its last day when the next one is taken at some time."""
        rest = LearnerDays(self.learner, [])
        rest.placed, rest._waiting = list(self.placed), list(self._waiting)
        rest.place(time)
        rest.place_rest()
        return rest.keeps_last_days()

    def keeps_last_days(self) -> bool:
        """Whether every course that is placed is done by its last day."""
        ends = ((row.done_day, self.learner.lengths[row.operator].last_day) for row in self.placed)
        return all(last is None or done <= last for done, last in ends)

    def place_rest(self) -> None:
        """Place all that is left at the earliest."""
        while (time := self.get_next()) is not None:
            self.place(time)

    def fit(self, operator: int, ready: Fraction) -> PlacedTime:
        """Return a course where it first fits between the person's absences."""
        return place_course(operator, self.learner.lengths[operator], ready, self.learner.absences)

    def place(self, time: PlacedTime) -> None:
        """Take a course at that time."""
        self._waiting.remove(time.operator)
        self.placed.append(time)
        self._clock = time.end
        self._reached = find_closure(self.learner.problem, [row.operator for row in self.placed])


def place_course(operator: int, length: CourseLength, ready: Fraction, absences: Absences) -> PlacedTime:
    """Return a course that begins as early as it can once it is ready; O(absences)."""
    begin = ready
    for first, last in absences:
        day = math.floor(begin)
        # off the job its hours are one piece; otherwise only its first day must be no day of absence
        until = max(day + 1, math.ceil(begin + length.work)) if length.is_off_job else day + 1
        if first < until and last >= day:
            begin = Fraction(last + 1)
    worked = begin + length.work
    if not length.is_off_job:
        for first, last in absences:
            if begin < first < worked:
                worked += last + 1 - first
    return PlacedTime(operator, begin, worked, max(begin + length.own, worked))


def can_be_done_in_time(learner: Studying, operators: Iterable[int]) -> bool:
    """Whether a person's courses, one after the other from the day asked about, are each done by their last day.

    O(courses x (courses + absences)).
    """
    days = LearnerDays(learner, operators)
    days.place_rest()
    return days.keeps_last_days()
