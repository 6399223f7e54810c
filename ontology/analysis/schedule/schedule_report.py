"""From slots to what a schedule says: days and hours, the critical chain, what lapses, the last day. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.expected import DoneCourse
from ontology.analysis.paths.last_day import LastDay, compute_last_day
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.schedule.critical_chain import (
    Slack,
    build_link_graph,
    find_critical_chain,
    find_first_suppliers,
    measure_slack,
)
from ontology.analysis.schedule.critical_links import describe_chain, explain_no_chain, tell_full
from ontology.analysis.schedule.fixed_days import FixedDays, find_kept_days, tell_moved
from ontology.analysis.schedule.owed_hours import spread, tell_blocks
from ontology.analysis.schedule.renewals import Lapsing, find_lapsing_again
from ontology.analysis.schedule.schedule_hours import Share
from ontology.analysis.schedule.schedule_model import Problem, Window
from ontology.analysis.schedule.schedule_result import LeftOutCourse, ScheduledCourse, ScheduleResult, StudyWeek
from ontology.analysis.schedule.study_calendar import UNITS_PER_MINUTE, StudyCalendar
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Placed", "build_empty", "build_result", "find_last_day"]


@dataclass(frozen=True)
class Placed:
    """A problem and the schedule found for it; `lower_bound` in slots."""

    problem: Problem
    windows: tuple[Window, ...]
    shares: tuple[Share, ...]
    lower_bound: int
    is_proved: bool


def build_empty(
    path: LearningPathResult,
    start: dt.date,
    rate: float,
    at_once: int,
    *,
    after: LastDay | None = None,
    left_out: tuple[LeftOutCourse, ...] = (),
) -> ScheduleResult:
    """Return the schedule of a path without courses."""
    return ScheduleResult(
        **_tell_path(path, after),
        left_out=left_out,
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
        remarks=(*path.remarks, *(row.reason for row in left_out)),
    )


def build_result(
    snapshot: Snapshot,
    path: LearningPathResult,
    calendar: StudyCalendar,
    placed: Placed,
    lapsing: tuple[Lapsing, ...],
    rate: float,
    deadline: Deadline,
    fixed: Mapping[str, FixedDays],
    *,
    person_id: str | None = None,
    left_out: tuple[LeftOutCourse, ...] = (),
) -> ScheduleResult:
    """Return what a schedule says, its slots as days."""
    problem, windows = placed.problem, placed.windows
    slack = measure_slack(problem, windows, deadline)
    renewals = {row.renewal for row in lapsing}
    courses = _describe(snapshot, path, calendar, placed, slack, renewals, fixed)
    finish = max(course.last_day for course in courses)
    new = [course for course in courses if not course.is_booked]
    booked = [course for course in courses if course.is_booked]
    links = build_link_graph(problem, windows, placed.shares)
    chain = find_critical_chain(problem, windows, links, slack, deadline)
    ends = {course.id: course.last_day for course in courses}
    after = None if person_id is None else find_last_day(snapshot, person_id, path, ends, finish)
    lapsing = tuple(_tell_renewal(row, ends) for row in lapsing)
    again = find_lapsing_again(snapshot, ends, finish, path.role, path.order, person_id)
    status = path.status
    if status == "optimal" and not placed.is_proved:
        status = "feasible"
    return ScheduleResult(
        **_tell_path(path, after),
        left_out=left_out,
        status=status,
        start=calendar.first,
        finish=finish,
        lower_bound=min(finish, calendar.get_day(placed.lower_bound - 1)),
        study_hours=sum(course.study_hours for course in new),
        cost=_sum_cost(new),
        study_hours_per_week=rate,
        at_once=problem.at_once,
        holidays=tuple(day for day in calendar.holidays if day <= finish),
        courses=courses,
        critical_chain=tuple(problem.tasks[n].id for n in chain),
        critical_links=describe_chain(snapshot, problem, windows, chain, links, fixed),
        no_chain="" if chain else explain_no_chain(problem, windows, slack),
        lapsing=(*lapsing, *again),
        booked_hours=sum(course.study_hours for course in booked),
        booked_cost=_sum_cost(booked),
        remarks=(
            *path.remarks,
            *(row.reason for row in left_out),
            *_tell_booked([course for course in booked if course.id not in fixed]),
            *tell_moved(
                snapshot, fixed, {course.id: (course.first_day, course.last_day) for course in courses}, calendar.first
            ),
            *tell_blocks(snapshot, problem, windows, calendar, rate),
            *tell_full(problem, windows),
            *_tell_unmet(lapsing, courses),
        ),
    )


def find_last_day(
    snapshot: Snapshot, person_id: str, path: LearningPathResult, ends: Mapping[str, dt.date], day: dt.date
) -> LastDay:
    """Return where a person stands on a day, the courses of the plan done on their last days."""
    done = [DoneCourse(person_id, course_id, end) for course_id, end in ends.items()]
    return compute_last_day(snapshot, person_id, path.role, path.targets, path.requirements, done, day)


def _tell_path(path: LearningPathResult, after: LastDay | None) -> dict[str, Any]:
    """Return what a schedule says of its path, where the person stands afterwards as of its own last day."""
    requirements = path.requirements if after is None else after.requirements
    return {
        "role": path.role,
        "minimise": path.minimise,
        "unreachable": path.unreachable,
        "assess_first": path.assess_first,
        "is_target_reached": path.is_target_reached if after is None else after.is_target_reached,
        "missing": tuple(row for row in requirements if row.is_target and row.reached < row.level),
        "within_budget": path.within_budget,
        "budget": path.budget,
        "readiness_before": path.readiness_before,
        "readiness_after": path.readiness_after if after is None else after.readiness,
        "standing_after": path.standing_after if after is None else after.standing,
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
    fixed: Mapping[str, FixedDays],
) -> tuple[ScheduledCourse, ...]:
    problem, windows = placed.problem, placed.windows
    serves = {course.id: course.serves for course in path.taken}
    booked = {*(course.id for course in path.booked), *fixed}
    rows = []
    for number, (task, window) in enumerate(zip(problem.tasks, windows, strict=True)):
        course = snapshot.courses[task.id]
        kept = find_kept_days(window, calendar, fixed.get(task.id))
        first, last = calendar.get_day(window.first), calendar.get_day(window.last)
        # a later first day has to be a working day too
        later = calendar.get_day(problem.grid.get_working_before(window.first + slack[number].slots))
        hours = (task.work + task.owed) / UNITS_PER_MINUTE / 60
        rows.append(
            ScheduledCourse(
                id=task.id,
                label=course.label,
                first_day=kept.first_day if kept else first,
                last_day=kept.last_day if kept else last,
                study_hours=hours,
                coach_hours=course.coach_hours,
                cost=round(course.cost * 100) / 100,
                hours_per_week=round(hours * 5 / (window.last - window.first + 1), 2),
                slack_days=(later - first).days,
                is_critical=later == first,
                is_renewal=task.id not in serves or task.id in renewals,
                is_booked=task.id in booked,
                waits_for=tuple(problem.tasks[n].id for n in find_first_suppliers(problem, windows, number)),
                serves=serves.get(task.id, ()),
                weeks=_sum_weeks(calendar, spread(problem.grid, task.owed, window) or placed.shares[number]),
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
