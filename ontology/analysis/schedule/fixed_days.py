"""Courses that are held on days of their own: a seat in a session, or days agreed before. Pure.

Such a course is placed on its days and moves nowhere; its hours are owed from its first day on, as those of a course
held in one piece. Where it cannot be kept there (what it asks for is not held by then, or two are on the same days) it
takes the first days from then on that can be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from ontology.analysis.paths.catalogue import get_minutes
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.schedule.schedule_bound import find_heads
from ontology.analysis.schedule.schedule_model import Problem, Task, Window
from ontology.analysis.schedule.study_calendar import UNITS_PER_MINUTE, StudyCalendar
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FixedDays", "find_fixed_days", "find_keepable", "find_kept_days", "fix_task", "tell_moved"]


@dataclass(frozen=True, slots=True)
class FixedDays:
    """The days on which a course is held, both its own; `share` is what of its hours is still to come in a plan."""

    first_day: dt.date
    last_day: dt.date
    share: Fraction = Fraction(1)


def find_fixed_days(path: LearningPathResult) -> dict[str, FixedDays]:
    """Return course id -> its days, for the booked courses of a path whose session is known."""
    return {
        row.id: FixedDays(row.first_day, row.last_day)
        for row in path.booked
        if row.first_day is not None and row.last_day is not None
    }


def fix_task(snapshot: Snapshot, calendar: StudyCalendar, course_id: str, days: FixedDays, *, is_kept: bool) -> Task:
    """Return the task that a course on its own days is.

    `is_kept`: it has to end with its days; if not, it only begins no earlier. What is over before the plan begins owes
    nothing in it.
    """
    first, last = calendar.get_working_span(days.first_day, days.last_day)
    minutes = 0 if days.last_day < calendar.first else get_minutes(snapshot.courses[course_id].hours)
    owed = round(minutes * UNITS_PER_MINUTE * days.share)
    return Task(course_id, 0, last - first + 1, first, deadline=last if is_kept else None, owed=owed)


def find_keepable(problem: Problem, fixed: Mapping[str, FixedDays]) -> tuple[str, ...]:
    """Return the courses that may be able to keep their days, by first slot: those for which nothing comes too late.

    `problem` is one in which none has to. O(tasks) rounds at most.
    """
    if not fixed:
        return ()
    heads = find_heads(problem)
    rows = [(task.release, task.id) for task, head in zip(problem.tasks, heads, strict=True) if head == task.release]
    return tuple(course_id for _, course_id in sorted(rows) if course_id in fixed)


def find_kept_days(window: Window, calendar: StudyCalendar, days: FixedDays | None) -> FixedDays | None:
    """Return the days that are shown of a course that was kept on its own: not before the plan begins."""
    if days is None or days.last_day < calendar.first:
        return None
    if (window.first, window.last) != calendar.get_working_span(days.first_day, days.last_day):
        return None
    return FixedDays(max(days.first_day, calendar.first), days.last_day)


def tell_moved(
    snapshot: Snapshot, fixed: Mapping[str, FixedDays], shown: Mapping[str, tuple[dt.date, dt.date]], start: dt.date
) -> list[str]:
    """Return a remark for each course that is not shown on days of its own, of those shown with some days."""
    remarks = []
    for course_id, (first_day, last_day) in sorted(shown.items()):
        days = fixed.get(course_id)
        if days is None or days.last_day == last_day:
            continue
        about = f"{snapshot.courses[course_id].label} is booked from {days.first_day} to {days.last_day}"
        if days.last_day < start:
            remarks.append(f"{about}, before this plan begins: it is shown at its beginning.")
        else:
            remarks.append(
                f"{about}, and cannot be taken there in this plan: what it asks for is not held by then, or something "
                f"else is on these days. Shown is the earliest from then on, {first_day} to {last_day}: book another "
                "session."
            )
    return remarks
