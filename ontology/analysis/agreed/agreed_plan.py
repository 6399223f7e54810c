"""What was agreed with a person, how it stands, and what the best way from today would be. Pure."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.agreed.course_states import COURSE_STATES, AgreedCourseRow, find_course_states
from ontology.analysis.agreed.expected_end import find_expected_end
from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.aims import get_minutes
from ontology.analysis.paths.learning_path import LearningPathResult, PathStatus
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.schedule.schedule import plan_schedule
from ontology.errors import InputError
from ontology.model.agreement_records import AgreedPlan
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AgreedLevel", "AgreedPlanRow", "AgreedPlans", "BestWay", "CourseCounts", "find_agreed_plans", "is_open"]


@dataclass(frozen=True, slots=True)
class CourseCounts:
    """How many courses of a plan are in each state."""

    done: Annotated[int, "Done."]
    booked: Annotated[int, "Not done, with a seat in a session that is not over."]
    under_way: Annotated[int, "Neither, and the day is one of theirs."]
    late: Annotated[int, "Neither, and their last day has passed."]
    to_come: Annotated[int, "The rest."]


@dataclass(frozen=True, slots=True)
class AgreedLevel:
    """A target of the plan's role, as a learning path has it, and the level held."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level planned."]
    have: Annotated[int, "The level that counts on the day; 0 where there is none."]
    is_reached: Annotated[bool, "Whether it is held."]
    courses: Annotated[tuple[str, ...], "Courses of the plan that bring it, or a step to it."]


@dataclass(frozen=True, slots=True)
class BestWay:
    """The learning path to the same role from the day on, as a calendar: what would be planned today.

    `added` are its courses that are not open in the plan, `dropped` the open ones that it does without.
    """

    status: Annotated[PathStatus, "Of the path, or of its calendar; feasible where the time limit struck."]
    study_hours: Annotated[float, "Hours of new courses, and of those that renew what would lapse meanwhile."]
    booked_hours: Annotated[float, "Hours of the courses in which there is a seat."]
    finish: Annotated[dt.date | None, "The day the last course ends; null without courses, or hours to study."]
    courses: Annotated[tuple[str, ...], "Its courses, by first day."]
    added: Annotated[tuple[str, ...], "Those that are not open in the plan."]
    dropped: Annotated[tuple[str, ...], "Open courses of the plan that are not among them."]


@dataclass(frozen=True, slots=True)
class AgreedPlanRow:
    """An agreed plan in force, and how it stands.

    `is_on_time`: the target is reached on the plan's last day if it goes on as agreed: what is under way or to come
    keeps its days, what is booked has those of its session, what is late begins as soon as it can.
    """

    id: Annotated[str, "Id of the plan."]
    role: Annotated[str, "The role it leads to."]
    agreed_on: Annotated[dt.date, "The day it was agreed."]
    agreed_with: Annotated[PersonId, "Who agreed to it for the company."]
    note: Annotated[str, "What else was agreed."]
    first_day: Annotated[dt.date | None, "The first day of its courses; null without any."]
    last_day: Annotated[dt.date | None, "The last day of its courses; null without any."]
    counts: Annotated[CourseCounts, "Its courses by state."]
    days_late: Annotated[int, "Days late of the course that is latest; 0 where none is."]
    levels_reached: Annotated[int, "Levels planned that are held."]
    levels_planned: Annotated[int, "Targets of the role, as a learning path has them."]
    open_hours: Annotated[float, "Hours of the learner in its courses that are not done."]
    best: Annotated[BestWay, "What would be planned today."]
    hours_difference: Annotated[float, "Hours of that, booked ones included, less the open hours of the plan."]
    expected_end: Annotated[dt.date | None, "The day by which what is open is done; null where nothing is, or can be."]
    days_behind: Annotated[int, "Days by which that is after the plan's last day, else 0."]
    is_target_reached: Annotated[bool, "Whether every level planned is held then."]
    missing: Annotated[tuple[str, ...], "Requirements of which it is not, by competency."]
    is_on_time: Annotated[
        bool | None,
        "Whether every level planned is held on the plan's last day, with what is done by then; null where that cannot "
        "be told, with a remark.",
    ]
    courses: Annotated[tuple[AgreedCourseRow, ...], "Its courses, by first day."]
    levels: Annotated[tuple[AgreedLevel, ...], "The levels planned, by competency."]
    remarks: Annotated[tuple[str, ...], "What else should be known of it."]


@dataclass(frozen=True, slots=True)
class AgreedPlans:
    """The agreed plans of a person in force on a day."""

    plans: Annotated[tuple[AgreedPlanRow, ...], "Every plan in force, the latest agreed first."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def is_open(plan: AgreedPlan, on: dt.date) -> bool:
    """Whether a plan has not ended on a day: on the day it ended it is over."""
    return plan.ended_on is None or plan.ended_on > on


def find_agreed_plans(
    snapshot: Snapshot, person_id: str, *, on: dt.date, time_limit_s: float | None = None
) -> AgreedPlans:
    """Return what was agreed with a person up to a day and has not ended, with how it stands.

    Raises
    ------
    UnknownIdError
        There is no such person.

    Notes
    -----
    Two learning paths and two schedules for each plan; see `find_learning_path` and `plan_schedule`.
    """
    snapshot.require_person(person_id)
    plans = [row for row in snapshot.get_agreed_plans(person_id) if row.agreed_on <= on and is_open(row, on)]
    plans.sort(key=lambda row: (-row.agreed_on.toordinal(), row.id))
    deadline = Deadline(time_limit_s)
    rows = tuple(_build_row(snapshot, plan, on, deadline) for plan in plans)
    remarks = () if rows else (f"No agreed plan is in force on {on}: write down what is agreed, then ask again.",)
    return AgreedPlans(rows, remarks)


def _build_row(snapshot: Snapshot, plan: AgreedPlan, on: dt.date, deadline: Deadline) -> AgreedPlanRow:
    courses = find_course_states(snapshot, plan, on)
    still_open = [row for row in courses if row.state != "done"]
    path = find_person_path(
        snapshot, plan.person, plan.role, on, alternatives=0, time_limit_s=deadline.get_remaining_s()
    )
    levels = tuple(_list_levels(snapshot, plan, courses, path, on))
    best = _plan_anew(snapshot, plan, path, {row.course for row in still_open}, on, deadline)
    end = find_expected_end(snapshot, plan, courses, on, time_limit_s=deadline.get_remaining_s())
    last_day = max((row.last_day for row in courses), default=None)
    minutes = sum(get_minutes(row.study_hours) for row in still_open)
    return AgreedPlanRow(
        id=plan.id,
        role=plan.role,
        agreed_on=plan.agreed_on,
        agreed_with=plan.agreed_with,
        note=plan.note,
        first_day=min((row.first_day for row in courses), default=None),
        last_day=last_day,
        counts=_count(courses),
        days_late=max((row.days_late for row in courses), default=0),
        levels_reached=sum(row.is_reached for row in levels),
        levels_planned=len(levels),
        open_hours=minutes / 60,
        best=best,
        hours_difference=(get_minutes(best.study_hours) + get_minutes(best.booked_hours) - minutes) / 60,
        expected_end=end.day,
        days_behind=max(0, (end.day - last_day).days) if end.day and last_day else 0,
        is_target_reached=end.is_target_reached,
        missing=end.missing,
        is_on_time=end.is_on_time,
        courses=courses,
        levels=levels,
        remarks=(
            *_tell_unconfirmed(snapshot, courses),
            *_tell_late_seats(snapshot, courses),
            *_tell_renewals(snapshot, end.renewals),
            *filter(None, (end.reason,)),
        ),
    )


def _count(courses: Iterable[AgreedCourseRow]) -> CourseCounts:
    found = Counter(row.state for row in courses)
    return CourseCounts(*(found[state] for state in COURSE_STATES))


def _list_levels(
    snapshot: Snapshot, plan: AgreedPlan, courses: Sequence[AgreedCourseRow], path: LearningPathResult, on: dt.date
) -> Iterator[AgreedLevel]:
    brings = {row.course: {outcome.competency for outcome in snapshot.get_outcomes(row.course)} for row in courses}
    for competency_id, level in sorted(path.targets.items()):
        have = get_level(snapshot, plan.person, snapshot.competencies[competency_id], on).level or 0
        leading = tuple(course for course, brought in brings.items() if competency_id in brought)
        yield AgreedLevel(competency_id, level, have, have >= level, leading)


def _plan_anew(
    snapshot: Snapshot,
    plan: AgreedPlan,
    path: LearningPathResult,
    still_open: set[str],
    on: dt.date,
    deadline: Deadline,
) -> BestWay:
    """Return the path as a calendar; without hours for study it has none."""
    profile = build_profile(snapshot, plan.person, on)
    status, hours, booked, finish, courses = path.status, path.study_hours, path.booked_hours, None, path.order
    try:
        schedule = plan_schedule(snapshot, profile, path, on=on, time_limit_s=deadline.get_remaining_s())
    except InputError:
        pass  # what is expected of the plan tells the reason
    else:
        status, hours, booked = schedule.status, schedule.study_hours, schedule.booked_hours
        finish, courses = schedule.finish, tuple(row.id for row in schedule.courses)
    return BestWay(
        status=status,
        study_hours=hours,
        booked_hours=booked,
        finish=finish,
        courses=courses,
        added=tuple(i for i in courses if i not in still_open),
        dropped=tuple(sorted(still_open - set(courses))),
    )


def _tell_unconfirmed(snapshot: Snapshot, courses: Iterable[AgreedCourseRow]) -> Iterator[str]:
    for row in courses:
        if row.state == "done" and not row.is_confirmed:
            label = snapshot.courses[row.course].label
            yield (
                f"{label} was attended until {row.done_on}, and no assessment shows its outcomes yet: assess them. The "
                "expected end takes it as passed."
            )


def _tell_renewals(snapshot: Snapshot, course_ids: Iterable[str]) -> Iterator[str]:
    for course_id in course_ids:
        label = snapshot.courses[course_id].label
        yield f"{label} is expected besides what is open, so that nothing lapses until then: it is not agreed."


def _tell_late_seats(snapshot: Snapshot, courses: Iterable[AgreedCourseRow]) -> Iterator[str]:
    for row in courses:
        if row.state == "booked" and row.session_last_day is not None and row.session_last_day > row.last_day:
            label = snapshot.courses[row.course].label
            yield f"{label} is booked until {row.session_last_day}, after the day agreed, {row.last_day}."
