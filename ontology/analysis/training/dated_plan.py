"""A dated plan: a cross-training plan on the calendar, whose hours go to which course in which month. Pure.

May import presence, learners, the days of one person and the release of a team. Everyone takes their courses one after
the other in paid working time, and nobody is away in a course off the job (strand formal) on a day on which the team
could not spare them; such a course waits, thirteen weeks at the most and never beyond the last day of its learner.
Where that cannot be kept the course is placed at the earliest all the same, and said. Holidays and seats do not count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from heapq import heapify, heappop, heappush
from typing import Annotated, Final

from ontology.analysis.cover.presence import Presence
from ontology.analysis.paths.expected import DoneCourse
from ontology.analysis.paths.pace import WORKING_HOURS_PER_WEEK
from ontology.analysis.training.learner_days import LearnerDays, PlacedTime
from ontology.analysis.training.learners import Learner, Plan, TeamLearning
from ontology.analysis.training.team_release import TeamRelease
from ontology.model.identity import PersonId

__all__ = ["DatedPlan", "MonthOfLearning", "PlannedCourse", "ReleaseConflict", "build_dated_plan"]

_DAY: Final = timedelta(days=1)
_HOURS_A_DAY: Final = Fraction(WORKING_HOURS_PER_WEEK, 7)
_PATIENCE: Final = 91
"""Days that a course waits for its learner to be spared: a quarter of a year. Ours, no source."""


@dataclass(frozen=True, slots=True)
class MonthOfLearning:
    """What one person learns in one month ("2026-11").

    `study_hours` are planned, `hours_free` are the working hours available: 40 a week over the days of the month from
    the day asked about to the person's last, days of recorded absence left out.
    """

    month: Annotated[str, "Year and month, like 2026-11."]
    person: Annotated[PersonId, "Id of the person."]
    courses: Annotated[tuple[str, ...], "The courses, in order."]
    study_hours: Annotated[float, "Hours planned."]
    hours_free: Annotated[
        float, "Working hours available: 40 a week from the day asked about, recorded absences left out."
    ]


@dataclass(frozen=True, slots=True)
class PlannedCourse:
    """A course on its days.

    It begins on `begins_on` and is done on `finished_on`: from that day on what it brings counts. `released_until` is
    the last day off the job for it, None where it is learned at work or takes no hours. `is_held_back`: its learner
    cannot be released earlier.
    """

    person: Annotated[PersonId, "Id of the person."]
    course: Annotated[str, "Id of the course."]
    begins_on: Annotated[date, "The day it begins."]
    finished_on: Annotated[date, "The day it is done: from then on what it brings counts."]
    released_until: Annotated[date | None, "The last day off the job for it; null for learning at work."]
    is_held_back: Annotated[bool, "Whether its learner cannot be released earlier."]


@dataclass(frozen=True, slots=True)
class ReleaseConflict:
    """A course off the job that leaves a need short, or (where `place` is not None) a place empty, on its days."""

    person: Annotated[PersonId, "Id of the person."]
    course: Annotated[str, "Id of the course."]
    competency: Annotated[str | None, "Id of the competency that would be short; null for a place."]
    level: Annotated[int | None, "The level needed."]
    applies: Annotated[str | None, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift; null for the team."]
    place: Annotated[str | None, "Id of the place that would be empty; null for a need."]


@dataclass(frozen=True)
class DatedPlan:
    """The months by month and person; the courses by person and first day; what could not be kept."""

    months: tuple[MonthOfLearning, ...]
    courses: tuple[PlannedCourse, ...]
    conflicts: tuple[ReleaseConflict, ...]

    @property
    def done_days(self) -> Mapping[tuple[str, str], date]:
        """(person, course) -> the day on which it is done."""
        return {(row.person, row.course): row.finished_on for row in self.courses}

    @property
    def outcomes(self) -> list[DoneCourse]:
        """What is expected to be done, as `with_outcomes` takes it."""
        return [DoneCourse(row.person, row.course, row.finished_on) for row in self.courses]


def build_dated_plan(presence: Presence, team: TeamLearning, plan: Plan) -> DatedPlan:
    """Return a plan on the calendar.

    Notes
    -----
    Deterministic: whoever can begin first goes first, then by id; who can never be spared comes last. For each course
    O(days of change within thirteen weeks x size of the team).
    """
    days = {person_id: LearnerDays(team.learners[person_id], plan[person_id]) for person_id in sorted(plan)}
    placer = _Placer(TeamRelease(presence), days)
    conflicts = placer.place_all()
    courses = [
        _describe_course(
            presence.on, team.learners[person_id], time, is_held_back=(person_id, time) in placer.held_back
        )
        for person_id, state in days.items()
        for time in state.placed
    ]
    return DatedPlan(_build_months(presence, days), tuple(courses), tuple(conflicts))


class _Placer:
    """Places everyone's courses."""

    def __init__(self, release: TeamRelease, days: Mapping[str, LearnerDays]) -> None:
        self._release = release
        self._days = days
        self._queue: list[tuple[Fraction, str]] = [(Fraction(0), person_id) for person_id in days]
        heapify(self._queue)
        self._stuck: set[str] = set()
        self.held_back: set[tuple[str, PlacedTime]] = set()

    def place_all(self) -> list[ReleaseConflict]:
        """Place every course; return what could not be kept."""
        conflicts: dict[ReleaseConflict, None] = {}
        while self._queue or self._stuck:
            if not self._queue:
                conflicts.update(dict.fromkeys(self._place_stuck()))
                continue
            bound, person_id = heappop(self._queue)
            state = self._days[person_id]
            earliest = state.get_next()
            if earliest is None:
                continue
            time = self._find_time(person_id, earliest)
            if time is None:
                self._stuck.add(person_id)
            elif time.begin > bound and self._queue and self._queue[0] < (time.begin, person_id):
                heappush(self._queue, (time.begin, person_id))
            else:
                self._place(person_id, time)
        return list(conflicts)

    def _place_stuck(self) -> list[ReleaseConflict]:
        """Place a course of somebody who could not be spared so far; by id, at the earliest where nobody can be."""
        for person_id in sorted(self._stuck):
            earliest = self._days[person_id].get_next()
            time = None if earliest is None else self._find_time(person_id, earliest)
            if time is not None:
                self._stuck.discard(person_id)
                self._place(person_id, time)
                return []
        person_id = min(self._stuck)
        self._stuck.discard(person_id)
        forced = self._days[person_id].get_next()
        assert forced is not None, "only who has a course left is stuck"
        lost = self._release.find_lost(person_id, forced.first_day, forced.free_day)
        course_id = self._days[person_id].learner.offers[forced.operator].id
        self._place(person_id, forced)
        return [ReleaseConflict(person_id, course_id, *row) for row in lost]

    def _find_time(self, person_id: str, earliest: PlacedTime) -> PlacedTime | None:
        """Return when a course can be taken; None where its learner cannot be spared in time."""
        state, time = self._days[person_id], earliest
        length = state.learner.lengths[earliest.operator]
        while length.is_off_job and length.work:
            first = self._release.find_free_day(person_id, time.first_day, time.free_day)
            if first == time.first_day:
                break
            if first is None or first - earliest.first_day > _PATIENCE:
                return None
            time = state.fit(earliest.operator, Fraction(first))
        return time if time == earliest or state.is_in_time(time) else None

    def _place(self, person_id: str, time: PlacedTime) -> None:
        state = self._days[person_id]
        learner = state.learner
        if time != state.get_next():
            self.held_back.add((person_id, time))
        state.place(time)
        length = learner.lengths[time.operator]
        if length.is_off_job and length.work:
            self._release.send(person_id, time.first_day, time.free_day)
        self._release.teach(person_id, learner.offers[time.operator].effects, time.done_day)
        heappush(self._queue, (time.end, person_id))


def _describe_course(on: date, learner: Learner, time: PlacedTime, *, is_held_back: bool) -> PlannedCourse:
    length = learner.lengths[time.operator]
    return PlannedCourse(
        learner.id,
        learner.offers[time.operator].id,
        _add_days(on, time.first_day),
        _add_days(on, time.done_day),
        _add_days(on, time.free_day - 1) if length.is_off_job and length.work else None,
        is_held_back,
    )


def _build_months(presence: Presence, days: Mapping[str, LearnerDays]) -> tuple[MonthOfLearning, ...]:
    on, people = presence.on, presence.snapshot.people
    hours: dict[tuple[str, str], dict[str, Fraction]] = {}
    spans: dict[str, tuple[int, int]] = {}
    for person_id, state in days.items():
        for time in state.placed:
            for month, first, end in _iterate_months(on, time.begin, time.worked):
                spans[month] = first, end
                spent = _count_hours(state, max(time.begin, Fraction(first)), min(time.worked, Fraction(end)))
                if spent:
                    row = hours.setdefault((month, person_id), {})
                    course_id = state.learner.offers[time.operator].id
                    row[course_id] = row.get(course_id, Fraction(0)) + spent
    return tuple(
        MonthOfLearning(
            month,
            person_id,
            tuple(row),
            float(sum(row.values())),
            float(_count_hours(days[person_id], *_get_employed(on, people[person_id].end_date, *spans[month]))),
        )
        for (month, person_id), row in sorted(hours.items())
    )


def _iterate_months(on: date, begin: Fraction, end: Fraction) -> Iterator[tuple[str, int, int]]:
    """Yield the months that a stretch touches: "2026-11", first day of it from the day asked about on, first after."""
    day = _add_days(on, int(begin))
    while True:
        first = max((day.replace(day=1) - on).days, 0)
        is_last = (day.year, day.month) == (date.max.year, date.max.month)
        after = date.max if is_last else (day.replace(day=28) + 4 * _DAY).replace(day=1)
        yield day.isoformat()[:7], first, (after - on).days
        if is_last or (after - on).days >= end:
            return
        day = after


def _get_employed(on: date, last: date | None, first: int, end: int) -> tuple[Fraction, Fraction]:
    """Return the days of a month, none of them after someone's last."""
    return Fraction(first), Fraction(end if last is None else min(end, (last - on).days + 1))


def _count_hours(state: LearnerDays, begin: Fraction, end: Fraction) -> Fraction:
    """Return the working hours between two times, days of absence left out."""
    lost = sum(
        (max(Fraction(0), min(end, Fraction(last + 1)) - max(begin, Fraction(first))))
        for first, last in state.learner.absences
    )
    return (end - begin - lost) * _HOURS_A_DAY


def _add_days(on: date, days: int) -> date:
    """Return the day so many days later; the last one of the calendar where it lies beyond."""
    return on + timedelta(days=min(days, (date.max - on).days))
