"""A cross-training plan on the calendar: whose hours go to which course in which month, and when each ends. Pure.

May import presence, coverage, learners and the weeks of one person. All people's weeks go by together, so that nobody
is away in a course off the job (strand formal) in a week in which a need of the team would then be short: at most
(holders present - minimum) holders of a need are spared in one week; whoever finishes a planned level is a holder
from the next week on, and nobody is one in a week with recorded absence or after the last day. Where that can never be
kept the course is placed all the same, and said. Holidays and seats are not counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import Presence, find_absent_weekdays, is_employed
from ontology.analysis.training.learners import Plan, TeamLearning
from ontology.analysis.training.training_weeks import MAX_WEEKS, LearnerWeeks, Studying

__all__ = ["MonthOfLearning", "ReleaseConflict", "TrainingTimetable", "build_timetable"]


@dataclass(frozen=True, slots=True)
class MonthOfLearning:
    """What one person learns in one month ("2026-11"), a week counting for the month of its first day.

    `study_hours` are spent, `hours_free` are what the person's study hours a week come to in the weeks of the month,
    less the share of recorded absences.
    """

    month: str
    person: str
    courses: tuple[str, ...]
    study_hours: float
    hours_free: float


@dataclass(frozen=True, slots=True)
class ReleaseConflict:
    """A course off the job that cannot be placed without leaving a need of the team short in some week."""

    person: str
    course: str
    competency: str
    level: int
    applies: str
    shift: str | None


@dataclass(frozen=True)
class TrainingTimetable:
    """The months by month and person; the last day of each course, None where it never ends; what could not be kept."""

    months: tuple[MonthOfLearning, ...]
    last_days: Mapping[tuple[str, str], date | None]
    conflicts: tuple[ReleaseConflict, ...]


class _Spare:
    """Who can be spared from work, week by week."""

    def __init__(self, presence: Presence, team: TeamLearning, states: Mapping[str, LearnerWeeks]) -> None:
        self._team = team
        self._states = states
        self._presence = presence
        self._scopes = [scope for scope in build_need_scopes(presence) if scope.has_scope]
        gone = set(presence.away)
        self._holders = [set(scope.qualified) - gone for scope in self._scopes]
        self._possible = [{person.id for person in presence.get_scope(scope.shift)} - gone for scope in self._scopes]
        snapshot, on = presence.snapshot, presence.on
        self._absent_weeks = {
            person.id: find_absent_weekdays(snapshot, person.id, on, MAX_WEEKS) for person in presence.members
        }
        self._away: set[str] = set()

    def begin_week(self, week: int) -> None:
        """Count who has finished before the week as holders, and who is absent in it, or gone, as away."""
        first_day = _add_days(self._presence.on, 7 * week)
        self._away = {
            person.id
            for person in self._presence.members
            if week in self._absent_weeks[person.id] or not is_employed(person, first_day)
        }
        for person_id, state in self._states.items():
            ended = [o for o, course in state.courses.items() if course.last is not None and course.last < week]
            reached = self._team.learners[person_id].get_reached(ended)
            for scope, holders, possible in zip(self._scopes, self._holders, self._possible, strict=True):
                if person_id in possible and (scope.need.competency, scope.need.level) in reached:
                    holders.add(person_id)

    def is_anyone_back_after(self, week: int) -> bool:
        """Whether somebody is absent in this or a later week, and may be there again after that."""
        return any(absent >= week for weeks in self._absent_weeks.values() for absent in weeks)

    def send(self, person_id: str) -> None:
        """Note that somebody is away this week."""
        self._away.add(person_id)

    def find_short(self, person_id: str) -> list[int]:
        """Return the needs that would be short if the person were away as well."""
        return [
            number
            for number, holders in enumerate(self._holders)
            if person_id in holders and len(holders - self._away - {person_id}) < self._scopes[number].need.minimum
        ]

    def describe(self, person_id: str, course_id: str) -> Iterable[ReleaseConflict]:
        """Return a row for each need that the person's absence leaves short."""
        for number in self.find_short(person_id):
            scope = self._scopes[number]
            need = scope.need
            yield ReleaseConflict(person_id, course_id, need.competency, need.level, need.applies, scope.shift)


def build_timetable(presence: Presence, team: TeamLearning, plan: Plan) -> TrainingTimetable:
    """Return a plan on the calendar; week 0 begins on the day asked about.

    Notes
    -----
    Deterministic: people by id, each person's courses by what is behind them. O(weeks x people x courses).
    """
    states = {person_id: LearnerWeeks(team.learners[person_id], plan[person_id]) for person_id in sorted(plan)}
    spare = _Spare(presence, team, states)
    conflicts: dict[ReleaseConflict, None] = {}
    forced: set[str] = set()
    for week in range(MAX_WEEKS):
        waiting = {i: state for i, state in states.items() if not state.is_done}
        if not waiting:
            break
        spare.begin_week(week)
        held_back: dict[str, list[int]] = {}
        spent = False
        for person_id, state in waiting.items():
            before = _count(state)
            is_away, held = state.run_week(week, partial(_may_leave, spare, forced, person_id))
            if is_away:
                spare.send(person_id)
            if held:
                held_back[person_id] = held
            spent |= _count(state) != before
        may_change = any(state.is_waiting(week) for state in waiting.values()) or spare.is_anyone_back_after(week)
        if not spent and not may_change:
            if not held_back:
                break  # nobody has hours: what is left never ends
            person_id = min(held_back)
            forced.add(person_id)
            for operator in held_back[person_id]:
                course_id = states[person_id].learner.offers[operator].id
                conflicts.update(dict.fromkeys(spare.describe(person_id, course_id)))
    return TrainingTimetable(_build_months(presence.on, states), _get_last_days(presence.on, states), tuple(conflicts))


def _may_leave(spare: _Spare, forced: set[str], person_id: str) -> bool:
    return person_id in forced or not spare.find_short(person_id)


def _count(state: LearnerWeeks) -> tuple[int, int]:
    """Return what changes when a week brings something: minutes spent and courses ended."""
    courses = state.courses.values()
    return sum(len(course.minutes) for course in courses), sum(course.last is not None for course in courses)


def _get_last_days(on: date, states: Mapping[str, LearnerWeeks]) -> dict[tuple[str, str], date | None]:
    return {
        (person_id, state.learner.offers[o].id): None if course.last is None else _add_days(on, 7 * course.last + 6)
        for person_id, state in states.items()
        for o, course in state.courses.items()
    }


def _build_months(on: date, states: Mapping[str, LearnerWeeks]) -> tuple[MonthOfLearning, ...]:
    minutes: dict[tuple[str, str], dict[str, int]] = {}
    for person_id, state in states.items():
        for operator in state.order:
            for week, spent in state.courses[operator].minutes.items():
                row = minutes.setdefault((get_month(on, week), person_id), {})
                course_id = state.learner.offers[operator].id
                row[course_id] = row.get(course_id, 0) + spent
    weeks: dict[str, list[int]] = {}
    last = max((week for s in states.values() for c in s.courses.values() for week in c.minutes), default=-1)
    for week in range(last + 6):
        weeks.setdefault(get_month(on, week), []).append(week)
    return tuple(
        MonthOfLearning(
            month,
            person_id,
            tuple(row),
            sum(row.values()) / 60,
            _get_free_minutes(states[person_id].learner, weeks[month]) / 60,
        )
        for (month, person_id), row in sorted(minutes.items())
    )


def _get_free_minutes(learner: Studying, weeks: Iterable[int]) -> int:
    return sum(learner.weekly_minutes - learner.lost_minutes.get(week, 0) for week in weeks)


def get_month(on: date, week: int) -> str:
    """Return the month of a week's first day, as "2026-11"."""
    return _add_days(on, 7 * week).isoformat()[:7]


def _add_days(on: date, days: int) -> date:
    """Return the day so many days later; the last one of the calendar where it lies beyond."""
    return on + timedelta(days=min(days, (date.max - on).days))
