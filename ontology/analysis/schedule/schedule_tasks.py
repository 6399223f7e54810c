"""Courses as tasks on a grid: hours are work, weeks length, lead time the release, conditions needs. Pure."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Container, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.catalogue import build_catalogue, get_minutes
from ontology.analysis.paths.offers import list_conditions
from ontology.analysis.paths.pace import get_days, get_working_weeks
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.schedule.fixed_days import FixedDays, fix_task
from ontology.analysis.schedule.renewals import RENEWAL_DAYS
from ontology.analysis.schedule.schedule_model import Problem, Task
from ontology.analysis.schedule.study_calendar import SLOTS_PER_WEEK, UNITS_PER_MINUTE, StudyCalendar
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_problem", "find_gained_levels"]


def find_gained_levels(snapshot: Snapshot, profile: Profile, course_ids: Sequence[str]) -> dict[str, dict[str, int]]:
    """Return course id -> competency id -> the level it gives to this profile; a renewal gives none that is held."""
    offers = {offer.id: dict(offer.effects) for offer in build_catalogue(snapshot, profile).offers}
    return {i: offers.get(i, {}) for i in course_ids}


def build_problem(
    snapshot: Snapshot,
    profile: Profile,
    calendar: StudyCalendar,
    course_ids: Sequence[str],
    renewals: Mapping[str, dt.date],
    at_once: int,
    *,
    booked: AbstractSet[str] = frozenset(),
    usable_until: Mapping[str, dt.date] | None = None,
    has_deadlines: bool = True,
    fixed: Mapping[str, FixedDays] | None = None,
    kept: Container[str] = (),
) -> Problem:
    """Return the problem of placing courses and renewals.

    Parameters
    ----------
    course_ids : sequence of str
        The courses of the path; their tasks come first, in this order.
    renewals : mapping
        Course id -> last day of the certificate it renews; the tasks of those that are not among `course_ids` follow
        by id.
    booked : set of str
        Courses asked for already: they wait for no lead time.
    usable_until : mapping, optional
        Course id -> the last day on which a refresher still restores what was lost.
    has_deadlines : bool
        Whether a renewal has to end while the certificate still counts, where it can, and a refresher in its time.
    fixed : mapping, optional
        Course id -> the days on which it is held.
    kept : container of str
        Those of them that have to keep their days; the others begin no earlier.
    """
    fixed = fixed or {}
    gained = find_gained_levels(snapshot, profile, course_ids)
    tasks = []
    for course_id in course_ids:
        if course_id in fixed:
            task = fix_task(snapshot, calendar, course_id, fixed[course_id], is_kept=course_id in kept)
        else:
            task = _measure(snapshot, calendar, course_id, has_lead=course_id not in booked)
        needs = []
        for competency_id, level in list_conditions(snapshot, course_id):
            if profile.get(competency_id) >= level:
                continue
            givers = frozenset(
                number
                for number, other in enumerate(course_ids)
                if other != course_id and gained[other].get(competency_id, 0) >= level
            )
            needs.append(givers)
        # a course that renews; where that is too late already nothing is asked of it
        days = [known[course_id] for known in (renewals, usable_until or {}) if course_id in known]
        end = calendar.get_last_slot(min(days)) if days else -1
        keep_by = end if has_deadlines and task.release + _get_slots(calendar, task) - 1 <= end else None
        if task.deadline is not None:
            keep_by = task.deadline
        tasks.append(replace(task, needs=tuple(dict.fromkeys(needs)), deadline=keep_by))
    for course_id in sorted(renewals.keys() - set(course_ids)):
        if course_id in fixed:
            tasks.append(fix_task(snapshot, calendar, course_id, fixed[course_id], is_kept=course_id in kept))
            continue
        task = _measure(snapshot, calendar, course_id)
        until = renewals[course_id]
        last = calendar.get_last_slot(until)
        begin = max(task.release, calendar.get_slot(max(calendar.first, until - dt.timedelta(days=RENEWAL_DAYS))))
        # a course that takes longer than the thirteen weeks has to begin before them
        slots = _get_slots(calendar, task) + calendar.count_holidays(last + 1, begin)
        begin = max(task.release, min(begin, last + 1 - 2 * slots))
        can_keep = has_deadlines and begin + slots - 1 <= last
        tasks.append(replace(task, release=begin, deadline=last if can_keep else None))
    slots = max(task.release for task in tasks) + 2 * SLOTS_PER_WEEK
    slots += sum(task.length + -(-(task.work + task.owed) // calendar.minutes_per_week) + 1 for task in tasks)
    return Problem(tuple(tasks), calendar.build_grid(slots), at_once)


def _get_slots(calendar: StudyCalendar, task: Task) -> int:
    return max(task.length, -(-task.work // calendar.minutes_per_week))


def _measure(snapshot: Snapshot, calendar: StudyCalendar, course_id: str, *, has_lead: bool = True) -> Task:
    """Return the task that a course is: its work, or what it owes, its least slots and first slot."""
    course = snapshot.courses[course_id]
    lead_weeks = course.lead_weeks if has_lead else 0.0
    try:
        earliest = calendar.first + dt.timedelta(days=get_days(read_decimal(lead_weeks)))
    except OverflowError:
        raise InputError(f"The course {course_id} would begin after the year 9999.", parameter="start") from None
    weeks = get_working_weeks(course) if course.is_block else read_decimal(course.weeks or 0)
    length = max(1, math.ceil(weeks * SLOTS_PER_WEEK))
    units = get_minutes(course.hours) * UNITS_PER_MINUTE
    work, owed = (0, units) if course.is_block else (units, 0)
    return Task(course_id, work, length, calendar.get_slot(earliest), owed=owed)
