"""What a calendar may be asked, how it is made of a learning path, and how it is told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.desk.columns import build_if_any, build_table, number, ordinal, words
from api.desk.names import Names, amount
from api.desk.parameters import param
from api.desk.question import Subject
from api.desk.sheet import Note, Part, Steps
from api.errors import ParameterError, WrongParameter
from api.questions._words import describe_unreachable
from api.questions.person._path import AskOfPath, build_path_profile, find_path, name_aim
from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.schedule.schedule import DEFAULT_AT_ONCE, ScheduleResult, plan_schedule
from ontology.snapshot.snapshot import Snapshot

_WEEK_HOURS: Final = 168
_MOST_HOLIDAYS: Final = 400


@dataclass(frozen=True, kw_only=True)
class AskOfCalendar(AskOfPath):
    """What a learning path can be asked, and how it is spread over the weeks."""

    start: dt.date | None = param("First day of the plan (default: `on`).", default=None)
    study_hours_per_week: float | None = param(
        "Hours a week for learning (default: the person's own).",
        default=None,
        minimum=0.25,
        maximum=_WEEK_HOURS,
        unit="h",
    )
    at_once: int = param(
        "Most courses that run on one day.", default=DEFAULT_AT_ONCE, minimum=1, maximum=20, unit="courses"
    )
    holidays: tuple[dt.date, ...] = param("Days without study besides those the person is away.", default=())

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the start lies before the day asked about, or there are too many holidays."""
        super().check(snapshot)
        if self.start is not None and self.start < self.on:
            reason = f"must not be before the day asked about, {self.on}"
            raise ParameterError(WrongParameter("start", str(self.start), reason))
        if len(self.holidays) > _MOST_HOLIDAYS:
            raise ParameterError(WrongParameter("holidays", None, f"must be at most {_MOST_HOLIDAYS} dates"))


def find_schedule(snapshot: Snapshot, subject: Subject, asked: AskOfCalendar) -> ScheduleResult:
    """Return the learning path that is asked for as a calendar; both together keep the time limit."""
    deadline = Deadline(asked.time_limit_s)
    path = find_path(snapshot, subject, asked)
    return plan_schedule(
        snapshot,
        build_path_profile(snapshot, subject, asked),
        path,
        on=asked.on,
        start=asked.start,
        study_hours_per_week=asked.study_hours_per_week,
        at_once=asked.at_once,
        holidays=asked.holidays,
        time_limit_s=deadline.get_remaining_s(),
    )


def tell_schedule(result: ScheduleResult, asked: AskOfCalendar, names: Names) -> str:
    """Return from when to when, and whether the target is reached."""
    aim = name_aim(names, result.role, asked)
    said = aim[:1].upper() + aim[1:]
    if result.finish is None:
        return f"There is nothing to plan for {aim}." if result.is_target_reached else f"{said} is not reached."
    end = f"From {result.start} to {result.finish}, {amount(result.study_hours_per_week)} h a week"
    proved = (
        "nothing finishes earlier" if result.status == "optimal" else f"earliest possible finish {result.lower_bound}"
    )
    reached = "" if result.is_target_reached else f" {said} is not fully reached by then."
    return f"{end}, {proved}.{reached}"


def iterate_schedule_parts(result: ScheduleResult, names: Names) -> Iterator[Part]:
    """Yield what is missing, the courses by day, what sets the finish, and what expires meanwhile."""
    yield from map(Note, _iterate_missing(result, names))
    numbers = {course.id: place for place, course in enumerate(result.courses, start=1)}
    note = ""
    if result.booked_hours or result.booked_cost:
        booked = f"{amount(result.booked_hours)} h, cost {amount(result.booked_cost)}"
        note = f"Booked already, not counted in the sums: {booked}."
    marks = ("critical", "renewal", "booked")
    yield build_table(
        "Courses",
        result.courses,
        (
            ordinal(lambda course: numbers[course.id]),
            words("course", lambda course: names.ref("courses", course.id)),
            words("first day", lambda course: course.first_day),
            words("last day", lambda course: course.last_day),
            number("study", lambda course: course.study_hours, "h"),
            number("a week", lambda course: course.hours_per_week, "h"),
            number("can start later by", lambda course: course.slack_days, "days"),
            words("kind", lambda course: ", ".join(m for m in marks if getattr(course, f"is_{m}")) or "–"),
            words("after", lambda course: ", ".join(str(numbers[i]) for i in course.waits_for) or "–"),
        ),
        "No course is planned.",
        note,
    )
    if len(result.critical_chain) > 1:
        rows = tuple((f"{names.course(link.course)}: {link.reason}",) for link in result.critical_links)
        yield Steps("What sets the finish, one after the other", rows)
    elif result.no_chain:
        yield Note(result.no_chain)
    for left in result.left_out:
        yield Note(f"Not planned: {left.label}. {left.reason}")
    yield from build_if_any(
        "What expires during the plan",
        result.lapsing,
        (
            words("certificate", lambda row: names.ref("competencies", row.competency)),
            words("last day", lambda row: row.valid_until),
            words("renewed by", lambda row: names.ref("courses", row.renewal)),
            words("on", lambda row: row.renewed_on),
            words("why", lambda row: row.reason or "–"),
        ),
    )
    yield from describe_unreachable(result.unreachable, names)


def _iterate_missing(result: ScheduleResult, names: Names) -> Iterator[str]:
    if result.is_target_reached:
        return
    before, after = (
        "–" if share is None else f"{share:.2f}" for share in (result.readiness_before, result.readiness_after)
    )
    yield f"The target is not reached: readiness {before} before, {after} after this plan."
    if result.within_budget is False and result.budget is not None:
        hours, cost = f"{amount(result.budget.needed_hours)} h", f"{amount(result.budget.needed_cost)} of cost"
        yield f"The budget does not pay for the whole path: that takes {hours} and {cost}."
    for row in result.missing:
        what = f"{names.competency(row.competency)} at level {row.level}"
        if row.state == "beyond-budget":
            yield f"Beyond the budget: {what}; level {row.reached} is reached."
        if row.state in ("lapses", "left-out"):
            yield f"Not held on the last day: {what}, {row.necessity}."
