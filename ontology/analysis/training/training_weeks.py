"""One person's courses week by week: what is open, what the hours go to, when each course ends. Pure.

May import relaxed problems and offers. Week 0 begins on the day asked about; a week's hours are whole. A course is
open once its lead time is over and the courses of earlier weeks meet its entry conditions; the hours go to the open
courses, that which has most behind it first. A course that names its weeks lasts at least so many. Recorded
absences take their share of a week's hours; nothing begins in a week that is absence alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, Protocol

from ontology.analysis.engine.relaxed import RelaxedProblem, get_applicable_order, get_closure
from ontology.analysis.paths.offers import Offer

__all__ = ["MAX_WEEKS", "CourseWeeks", "LearnerWeeks", "Studying", "find_last_week"]

MAX_WEEKS: Final = 52 * 50
"""Fifty years; what takes longer has no date."""


class Studying(Protocol):
    """What the weeks of a learner depend on; see `Learner`."""

    @property
    def problem(self) -> RelaxedProblem: ...
    @property
    def offers(self) -> tuple[Offer, ...]: ...
    @property
    def lead_weeks(self) -> tuple[int, ...]: ...
    @property
    def own_weeks(self) -> tuple[int, ...]: ...
    @property
    def is_off_job(self) -> tuple[bool, ...]: ...
    @property
    def weekly_minutes(self) -> int: ...
    @property
    def lost_minutes(self) -> Mapping[int, int]: ...


@dataclass
class CourseWeeks:
    """A course of a person: `minutes` of each week from the first in which it is attended; `last` once it has ended."""

    operator: int
    first: int | None = None
    last: int | None = None
    minutes: dict[int, int] = field(default_factory=dict)


class LearnerWeeks:
    """A person's courses while the weeks go by.

    Parameters
    ----------
    learner : Studying
    operators : iterable of int
        Courses that can be taken in some order.

    Attributes
    ----------
    courses : dict of operator to CourseWeeks
    """

    def __init__(self, learner: Studying, operators: Iterable[int]) -> None:
        self.learner = learner
        self.order = get_applicable_order(learner.problem, operators)
        self.courses = {operator: CourseWeeks(operator) for operator in self.order}
        self._left = {operator: learner.offers[operator].minutes for operator in self.order}
        self._pace = learner.weekly_minutes
        self._reached: frozenset[int] = get_closure(learner.problem, ())
        self._priority = self._rank()

    def _rank(self) -> list[int]:
        """Return the courses, that with the most weeks to come (its own and of those that wait for it) first."""
        problem, learner = self.learner.problem, self.learner
        tails: dict[int, float] = {}
        for operator in reversed(self.order):
            gives = problem.effects[operator]
            behind = (tails[other] for other in tails if problem.conditions[other] & gives)
            own = learner.own_weeks[operator]
            hours = learner.offers[operator].minutes / self._pace if self._pace else 0.0
            tails[operator] = max(own, hours) + max(behind, default=0.0)
        place = {operator: n for n, operator in enumerate(self.order)}
        return sorted(self.order, key=lambda operator: (-tails[operator], place[operator]))

    @property
    def is_done(self) -> bool:
        """Whether all courses have ended."""
        return all(course.last is not None for course in self.courses.values())

    def is_waiting(self, week: int) -> bool:
        """Whether time alone will open or end a course."""
        return any(
            course.last is None
            and (
                self.learner.lead_weeks[o] > week
                or week in self.learner.lost_minutes
                or (course.first is not None and not self._left[o])
            )
            for o, course in self.courses.items()
        )

    def run_week(self, week: int, may_leave: Callable[[], bool]) -> tuple[bool, list[int]]:
        """Spend the week's hours.

        Parameters
        ----------
        week : int
            The one after the last.
        may_leave : callable
            Whether the person can be spared this week for courses off the job; asked once at the most.

        Returns
        -------
        is_away : bool
            Whether the person was in a course off the job.
        held_back : list of int
            Open courses off the job for which there would have been time, but the person could not be spared.
        """
        problem, learner = self.learner.problem, self.learner
        lost = learner.lost_minutes.get(week, 0)
        left, is_free, is_away = self._pace - lost, None, False
        is_absent = bool(lost) and not left
        held_back: list[int] = []
        ended: list[int] = []
        for operator in self._priority:
            course = self.courses[operator]
            is_open = learner.lead_weeks[operator] <= week and problem.conditions[operator] <= self._reached
            if course.last is not None or not is_open:
                continue
            wanted = min(left, self._left[operator])
            if (self._left[operator] and not wanted) or (is_absent and course.first is None):
                continue
            if wanted and learner.is_off_job[operator]:
                is_free = may_leave() if is_free is None else is_free
                if not is_free:
                    held_back.append(operator)
                    continue
                is_away = True
            if course.first is None:
                course.first = week
            if wanted:
                course.minutes[week] = wanted
                self._left[operator] -= wanted
                left -= wanted
            if not self._left[operator] and week + 1 >= course.first + learner.own_weeks[operator]:
                course.last = week
                ended.append(operator)
        if ended:
            done = [o for o, course in self.courses.items() if course.last is not None]
            self._reached = get_closure(problem, done)
        return is_away, held_back


def find_last_week(learner: Studying, operators: Iterable[int], most: int = MAX_WEEKS) -> int | None:
    """Return the week in which the last of a person's courses ends; None where that is not before `most` weeks.

    -1 without courses. O(weeks x courses).
    """
    state = LearnerWeeks(learner, operators)
    for week in range(most):
        if state.is_done:
            return week - 1
        state.run_week(week, lambda: True)
    return most - 1 if state.is_done else None
