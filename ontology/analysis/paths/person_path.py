"""The learning path of a person: their seats taken as booked, its last day, and what has lapsed by then. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any, Final

from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.expected import DoneCourse
from ontology.analysis.paths.lapses import add_days, find_lapses, get_study_end
from ontology.analysis.paths.last_day import compute_last_day
from ontology.analysis.paths.learning_path import find_learning_path, get_targets
from ontology.analysis.paths.offers import get_relied_on, list_conditions
from ontology.analysis.paths.pace import get_days, get_study_weeks
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.profiles.gap import find_unassessed
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.profiles.seats import find_usable_seats
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_person_path", "settle_path"]

_DAYS_A_WEEK: Final = 7


def find_person_path(snapshot: Snapshot, person_id: str, role_id: str, on: date, **options: Any) -> LearningPathResult:
    """Return the learning path of a person to the full levels of a role, as they stand on a day.

    Every answer about a person's path asks here. Courses in which they have a seat in a session that is not over are
    taken as booked, as far as they can matter for the role. Where something that is learned no longer counts as another
    on the path's last day, a path without it is looked for; it is the answer where it reaches the target.

    Parameters
    ----------
    **options
        What else `find_learning_path` can be asked.

    Raises
    ------
    UnknownIdError
        There is no such person, role or course.
    InputError
        From `find_learning_path`.
    """
    # of every requirement, also of those that are no targets: their rows are shown
    asked = get_targets(snapshot, role_id, with_desirable=True)
    unassessed = find_unassessed(snapshot, person_id, asked, on)
    seats = find_usable_seats(snapshot, person_id, on)
    profile = build_profile(snapshot, person_id, on)

    def find(profile: Profile) -> LearningPathResult:
        path = find_learning_path(snapshot, profile, role_id, unassessed=unassessed, seats=seats, **options)
        return settle_path(snapshot, person_id, path, on)

    first = result = find(profile)
    relied_on = get_relied_on(snapshot, profile)
    while relied_on and not result.is_target_reached and result.last_day is not None:
        profile = replace(profile, until=max(profile.until or on, result.last_day))
        left = get_relied_on(snapshot, profile)
        if left == relied_on:
            break
        relied_on, result = left, find(profile)
    return result if result.is_target_reached else first


def settle_path(snapshot: Snapshot, person_id: str, result: LearningPathResult, on: date) -> LearningPathResult:
    """Return the path with its last day, where the person stands then, and the levels that lapse meanwhile.

    Study begins on the day asked about, or on the person's first day where that is later; booked courses take their
    hours too. The last day is the first by which all hours can be studied and every course can have taken its weeks,
    after its lead and after the courses it waits for, and every session in which there is a seat is over: no schedule
    ends earlier, weekends apart. What the courses bring counts on that day: a path has no dates of its own.

    Looked at for lapses are the requirements of the role (or the targets) and what the courses ask for.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    person = snapshot.require_person(person_id)
    minutes = round((result.study_hours + result.booked_hours) * 60)
    begin = max(on, person.start_date or on) if result.order else on
    last_day = get_study_end(begin, minutes, person.study_hours_per_week)
    if last_day is not None:
        last_day = _find_last_day(snapshot, result, person, begin)
    day = last_day or begin
    after = compute_last_day(
        snapshot,
        person_id,
        result.role,
        result.targets,
        result.requirements,
        [DoneCourse(person_id, course_id, day) for course_id in result.order],
        day,
        usable_on=on,
    )
    wanted = {*result.targets, *(row.competency for row in result.requirements)}
    for course_id in result.order:
        wanted.update(competency_id for competency_id, _ in list_conditions(snapshot, course_id))
    return replace(
        result,
        last_day=last_day,
        readiness_after=after.readiness,
        standing_after=after.standing,
        is_target_reached=after.is_target_reached,
        requirements=after.requirements,
        lapses=find_lapses(snapshot, person_id, wanted, on, day, result.order),
        remarks=(*result.remarks, *_tell_leaving(result, person, last_day)),
    )


def _find_last_day(snapshot: Snapshot, result: LearningPathResult, person: Person, begin: date) -> date:
    """Return the first day by which the hours can be studied and the last course can have ended.

    Each after its lead, and after those that make it possible; one with a seat when its session has. A block takes its
    own weeks, and its hours may be made up for later: they hold up no end.
    """
    minutes, ends = 0, dict[str, Fraction]()
    enables = {row.id: row.enables for row in result.taken}
    sessions = {row.id: row.last_day for row in result.booked}
    for row in result.taken:
        course = snapshot.courses[row.id]
        before = [ends[other] for other in ends if row.id in enables[other]]
        session_end = sessions.get(row.id)
        if session_end is not None:
            ends[row.id] = max([Fraction((session_end - begin).days, _DAYS_A_WEEK), *before])
            continue
        minutes += 0 if course.is_block else round(row.study_hours * 60)
        weeks = get_study_weeks(course, person.study_hours_per_week) or Fraction(0)
        ends[row.id] = max([read_decimal(course.lead_weeks), *before]) + weeks
    last = add_days(begin, get_days(max(ends.values(), default=Fraction(0))))
    return max(last, get_study_end(begin, minutes, person.study_hours_per_week) or begin)


def _tell_leaving(result: LearningPathResult, person: Person, last_day: date | None) -> list[str]:
    # what has ended by a day was learned up to the day before
    if not result.order or last_day is None or person.end_date is None or (last_day - person.end_date).days <= 1:
        return []
    return [
        f"The courses would end on {last_day}, after the last day with the company, {person.end_date}: a "
        "schedule says "
        "what can be done before."
    ]
