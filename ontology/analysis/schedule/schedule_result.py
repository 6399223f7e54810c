"""What a schedule says: the courses with their days and hours, the critical chain, what lapses meanwhile. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.assess_savings import AssessSaving
from ontology.analysis.paths.learning_path import LearningPathResult, PathStatus
from ontology.analysis.paths.path_results import BudgetReport
from ontology.analysis.paths.path_rows import RequirementRow
from ontology.analysis.paths.unreachable import UnreachableLevel
from ontology.analysis.schedule.critical_chain import (
    Slack,
    build_link_graph,
    find_critical_chain,
    get_first_suppliers,
    measure_slack,
)
from ontology.analysis.schedule.critical_links import CriticalLink, describe_chain, explain_no_chain, tell_full
from ontology.analysis.schedule.renewals import Lapsing, find_lapsing_again
from ontology.analysis.schedule.schedule_hours import Share
from ontology.analysis.schedule.schedule_model import Problem, Window
from ontology.analysis.schedule.study_calendar import UNITS_PER_MINUTE, StudyCalendar
from ontology.graph.snapshot import Snapshot

__all__ = ["Placed", "ScheduleResult", "ScheduledCourse", "StudyWeek", "build_empty", "build_result"]


@dataclass(frozen=True, slots=True)
class StudyWeek:
    """The hours of one course in one week; `monday` is the Monday of it."""

    monday: dt.date
    study_hours: float


@dataclass(frozen=True, slots=True)
class ScheduledCourse:
    """One course with its days.

    `hours_per_week` are the hours over the weeks from the first to the last day (five weekdays a week); `weeks` tells
    them week by week. `slack_days` are the calendar days the first day can move to the right, at least, without the
    plan ending later or a certificate lapsing; the other courses begin no earlier than planned, and later where they
    have to. `is_critical`: none. `waits_for` names the courses whose end makes it possible. `is_renewal`: it renews a
    certificate that would lapse meanwhile. `is_booked`: booked already, so its hours and cost are not counted again.
    """

    id: str
    label: str
    first_day: dt.date
    last_day: dt.date
    study_hours: float
    coach_hours: float
    cost: float
    hours_per_week: float
    slack_days: int
    is_critical: bool
    is_renewal: bool
    is_booked: bool
    waits_for: tuple[str, ...]
    serves: tuple[str, ...]
    weeks: tuple[StudyWeek, ...]


@dataclass(frozen=True, slots=True)
class ScheduleResult:
    """A learning path as a calendar.

    `status` is that of the path where it is "unreachable" or "nothing-to-do"; otherwise "optimal" (the path is proved,
    and no order of these courses ends earlier) or "feasible" (one of the two was cut short). No plan of these courses
    ends before `lower_bound`. `study_hours` and `cost` count renewals too, and no booked courses: those are
    `booked_hours` and `booked_cost`, as far as they can be placed. `holidays` are the days without study in it: those
    asked for and those on which the person is away.

    `critical_chain` holds courses, in order, of which each is without slack and waits for the end of the one before,
    from the first day to the finish; `critical_links` why each waits. Both are empty where no such chain exists:
    `no_chain` says so.

    `is_target_reached`: after the plan every target level is held. `missing` holds the targets that are not, where
    requirements are known; `budget`, `within_budget`, `assess_savings` and the two readinesses are those of the path.
    """

    role: str
    minimise: str
    status: PathStatus
    start: dt.date
    finish: dt.date | None
    lower_bound: dt.date | None
    study_hours: float
    cost: float
    study_hours_per_week: float
    at_once: int
    holidays: tuple[dt.date, ...]
    courses: tuple[ScheduledCourse, ...]
    critical_chain: tuple[str, ...]
    critical_links: tuple[CriticalLink, ...]
    no_chain: str
    lapsing: tuple[Lapsing, ...]
    unreachable: tuple[UnreachableLevel, ...]
    assess_first: tuple[str, ...]
    is_target_reached: bool
    missing: tuple[RequirementRow, ...]
    within_budget: bool | None
    budget: BudgetReport | None
    readiness_before: float | None
    readiness_after: float | None
    booked_hours: float
    booked_cost: float
    assess_savings: tuple[AssessSaving, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Placed:
    """A problem and the schedule found for it; `lower_bound` in slots."""

    problem: Problem
    windows: tuple[Window, ...]
    shares: tuple[Share, ...]
    lower_bound: int
    is_proved: bool


def build_empty(path: LearningPathResult, start: dt.date, rate: float, at_once: int) -> ScheduleResult:
    """Return the schedule of a path without courses."""
    return ScheduleResult(
        **_tell_path(path),
        status=path.status,
        start=start,
        finish=None,
        lower_bound=None,
        study_hours=0.0,
        cost=0.0,
        study_hours_per_week=rate,
        at_once=at_once,
        holidays=(),
        courses=(),
        critical_chain=(),
        critical_links=(),
        no_chain="",
        lapsing=(),
        booked_hours=0.0,
        booked_cost=0.0,
        remarks=path.remarks,
    )


def build_result(
    snapshot: Snapshot,
    path: LearningPathResult,
    calendar: StudyCalendar,
    placed: Placed,
    lapsing: tuple[Lapsing, ...],
    rate: float,
    deadline: Deadline,
) -> ScheduleResult:
    """Return what a schedule says, its slots as days."""
    problem, windows = placed.problem, placed.windows
    finish = calendar.get_day(max(window.last for window in windows))
    slack = measure_slack(problem, windows, deadline)
    renewals = {row.renewal for row in lapsing}
    courses = _describe(snapshot, path, calendar, placed, slack, renewals)
    new = [course for course in courses if not course.is_booked]
    booked = [course for course in courses if course.is_booked]
    links = build_link_graph(problem, windows, placed.shares)
    chain = find_critical_chain(problem, windows, links, slack, deadline)
    ends = {course.id: course.last_day for course in courses}
    lapsing = tuple(_tell_renewal(row, ends) for row in lapsing)
    again = find_lapsing_again(snapshot, ends, finish, path.role, path.order)
    status = path.status
    if status == "optimal" and not placed.is_proved:
        status = "feasible"
    return ScheduleResult(
        **_tell_path(path),
        status=status,
        start=calendar.first,
        finish=finish,
        lower_bound=calendar.get_day(placed.lower_bound - 1),
        study_hours=sum(course.study_hours for course in new),
        cost=_sum_cost(new),
        study_hours_per_week=rate,
        at_once=problem.at_once,
        holidays=tuple(day for day in calendar.holidays if day <= finish),
        courses=courses,
        critical_chain=tuple(problem.tasks[n].id for n in chain),
        critical_links=describe_chain(snapshot, problem, windows, chain, links),
        no_chain="" if chain else explain_no_chain(problem, windows, slack),
        lapsing=(*lapsing, *again),
        booked_hours=sum(course.study_hours for course in booked),
        booked_cost=_sum_cost(booked),
        remarks=(
            *path.remarks,
            *_tell_booked(booked),
            *tell_full(problem, windows),
            *_tell_unmet(lapsing, courses),
        ),
    )


def _tell_path(path: LearningPathResult) -> dict[str, Any]:
    """Return what a schedule says of its path as the path does."""
    return {
        "role": path.role,
        "minimise": path.minimise,
        "unreachable": path.unreachable,
        "assess_first": path.assess_first,
        "is_target_reached": path.is_target_reached,
        "missing": tuple(row for row in path.requirements if row.state in ("beyond-budget", "unreachable")),
        "within_budget": path.within_budget,
        "budget": path.budget,
        "readiness_before": path.readiness_before,
        "readiness_after": path.readiness_after,
        "assess_savings": path.assess_savings,
    }


def _sum_cost(courses: Sequence[ScheduledCourse]) -> float:
    return sum(round(course.cost * 100) for course in courses) / 100


def _tell_booked(booked: Sequence[ScheduledCourse]) -> list[str]:
    if not booked:
        return []
    return [
        "The days of booked courses are the earliest that fit, without their lead time: the dates booked are not known "
        "here."
    ]


def _describe(
    snapshot: Snapshot,
    path: LearningPathResult,
    calendar: StudyCalendar,
    placed: Placed,
    slack: Sequence[Slack],
    renewals: set[str | None],
) -> tuple[ScheduledCourse, ...]:
    problem, windows = placed.problem, placed.windows
    serves = {course.id: course.serves for course in path.taken}
    booked = {course.id for course in path.booked}
    rows = []
    for number, (task, window) in enumerate(zip(problem.tasks, windows, strict=True)):
        course = snapshot.courses[task.id]
        first, last = calendar.get_day(window.first), calendar.get_day(window.last)
        # a later first day has to be a working day too
        later = calendar.get_day(problem.grid.get_working_before(window.first + slack[number].slots))
        hours = task.work / UNITS_PER_MINUTE / 60
        rows.append(
            ScheduledCourse(
                id=task.id,
                label=course.label,
                first_day=first,
                last_day=last,
                study_hours=hours,
                coach_hours=course.coach_hours,
                cost=round(course.cost * 100) / 100,
                hours_per_week=round(hours * 5 / (window.last - window.first + 1), 2),
                slack_days=(later - first).days,
                is_critical=later == first,
                is_renewal=task.id not in serves or task.id in renewals,
                is_booked=task.id in booked,
                waits_for=tuple(problem.tasks[n].id for n in get_first_suppliers(problem, windows, number)),
                serves=serves.get(task.id, ()),
                weeks=_sum_weeks(calendar, placed.shares[number]),
            )
        )
    return tuple(sorted(rows, key=lambda row: (row.first_day, row.last_day, row.id)))


def _sum_weeks(calendar: StudyCalendar, share: Mapping[int, int]) -> tuple[StudyWeek, ...]:
    sums: dict[dt.date, int] = {}
    for slot, units in sorted(share.items()):
        day = calendar.get_day(slot)
        monday = day - dt.timedelta(days=day.weekday())
        sums[monday] = sums.get(monday, 0) + units
    return tuple(StudyWeek(monday, round(units / UNITS_PER_MINUTE / 60, 4)) for monday, units in sums.items())


def _tell_renewal(row: Lapsing, ends: Mapping[str, dt.date]) -> Lapsing:
    if row.renewal is None:
        return row
    day = ends[row.renewal]
    if day <= row.valid_until:
        return replace(row, renewed_on=day, is_in_time=True)
    reason = (
        f"The renewal cannot end by {row.valid_until}: begin earlier, give more hours, or ask the issuer whether a "
        "lapsed certificate can still be renewed."
    )
    return replace(row, renewed_on=day, is_in_time=False, reason=reason)


def _tell_unmet(lapsing: tuple[Lapsing, ...], courses: tuple[ScheduledCourse, ...]) -> list[str]:
    """Return a remark for every course that begins after a certificate it asks for has lapsed without renewal."""
    ends = {row.id: row for row in courses}
    remarks = []
    for row in lapsing:
        if row.is_in_time:
            continue
        for course_id in row.needed_for:
            course = ends.get(course_id)
            if course is not None and course.first_day > row.valid_until:
                remarks.append(
                    f"{course.label} begins on {course.first_day} and asks for {row.label}, which lapses on "
                    f"{row.valid_until}: settle its renewal first."
                )
    return remarks
