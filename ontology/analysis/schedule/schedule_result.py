"""What is said of a schedule: courses with their days and hours, and the whole; field names are JSON keys. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.paths.assess_savings import AssessSaving
from ontology.analysis.paths.learning_path import PathStatus
from ontology.analysis.paths.path_results import BudgetReport
from ontology.analysis.paths.path_rows import RequirementRow
from ontology.analysis.paths.unreachable import UnreachableLevel
from ontology.analysis.profiles.gap import Standing
from ontology.analysis.schedule.critical_links import CriticalLink
from ontology.analysis.schedule.renewals import Lapsing

__all__ = ["LeftOutCourse", "ScheduleResult", "ScheduledCourse", "StudyWeek"]


@dataclass(frozen=True, slots=True)
class StudyWeek:
    """The hours of one course in one week; `monday` is the Monday of it."""

    monday: Annotated[dt.date, "The Monday of the week."]
    study_hours: Annotated[float, "Hours of the learner in it."]


@dataclass(frozen=True, slots=True)
class ScheduledCourse:
    """One course with its days.

    `hours_per_week` are the hours over the weeks from the first to the last day (five weekdays a week); `weeks` tells
    them week by week. `slack_days` are the calendar days the first day can move to the right, at least, without the
    plan ending later or a certificate lapsing; the other courses begin no earlier than planned, and later where they
    have to. `is_critical`: none. `waits_for` names the courses whose end makes it possible. `is_renewal`: it renews a
    certificate that would lapse meanwhile. `is_booked`: booked already, so its hours and cost are not counted again.
    """

    id: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]
    first_day: Annotated[dt.date, "Its first day."]
    last_day: Annotated[dt.date, "Its last day."]
    study_hours: Annotated[float, "Hours of the learner."]
    coach_hours: Annotated[float, "Hours of a coach."]
    cost: Annotated[float, "Cost."]
    hours_per_week: Annotated[float, "Hours over the weeks from the first to the last day."]
    slack_days: Annotated[
        int, "Days it can begin later, at least, without the plan ending later or a certificate lapsing."
    ]
    is_critical: Annotated[bool, "Whether it has no slack."]
    is_renewal: Annotated[bool, "Whether it renews a certificate that would lapse meanwhile."]
    is_booked: Annotated[bool, "Whether it is booked already: its hours and cost are not counted again."]
    waits_for: Annotated[tuple[str, ...], "Courses whose end makes it possible."]
    serves: Annotated[tuple[str, ...], "Target competencies it leads to."]
    weeks: Annotated[tuple[StudyWeek, ...], "Its hours, week by week."]


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

    `is_target_reached`: on the last day of the plan every target level is held. `missing` holds the targets that are
    not, where requirements are known, `readiness_after` and `standing_after` tell of the same day; `budget`,
    `within_budget`, `assess_savings` and `readiness_before` are those of the path. `left_out` names the courses that
    would end after the person's last day, and those that wait for them: they are no part of the plan.
    """

    role: Annotated[str, "The role asked about."]
    minimise: Annotated[str, "The first aim of the path."]
    status: Annotated[
        PathStatus,
        "optimal: the path is proved and no calendar of its courses ends earlier; feasible: one of "
        "the two was cut short.",
    ]
    start: Annotated[dt.date, "First day of the plan."]
    finish: Annotated[dt.date | None, "The day the last course ends; null without courses."]
    lower_bound: Annotated[dt.date | None, "No calendar of these courses ends before this day."]
    study_hours: Annotated[float, "Hours of the learner, renewals included, booked courses not."]
    cost: Annotated[float, "Cost, renewals included, booked courses not."]
    study_hours_per_week: Annotated[float, "Hours a week for learning."]
    at_once: Annotated[int, "Most courses that run on one day."]
    holidays: Annotated[tuple[dt.date, ...], "Days without study in the plan: holidays, and days the person is away."]
    courses: Annotated[tuple[ScheduledCourse, ...], "The courses by first day."]
    critical_chain: Annotated[
        tuple[str, ...],
        "Courses without slack, each waiting for the end of the one before, from the start to the "
        "finish; empty where no such chain exists.",
    ]
    critical_links: Annotated[tuple[CriticalLink, ...], "The same courses, and why each waits."]
    no_chain: Annotated[str, "Why there is no such chain; empty otherwise."]
    lapsing: Annotated[tuple[Lapsing, ...], "Certificates that lapse before the finish, by day."]
    unreachable: Annotated[tuple[UnreachableLevel, ...], "Targets that no courses reach, and why."]
    assess_first: Annotated[tuple[str, ...], "Targets never assessed: assess before training."]
    is_target_reached: Annotated[bool, "Whether every target level is held on the last day of the plan."]
    missing: Annotated[
        tuple[RequirementRow, ...], "Target levels that are not: unreachable, beyond the budget, lapsed, left out."
    ]
    within_budget: Annotated[
        bool | None, "Whether the budget leads to every target that can be reached; null without one."
    ]
    budget: Annotated[BudgetReport | None, "The budget; null without one."]
    readiness_before: Annotated[float | None, "Share 0..1 as in the gap; null without requirements."]
    readiness_after: Annotated[float | None, "The same on the last day of the plan, booked courses included."]
    standing_after: Annotated[Standing | None, "What is met altogether on that day; null without a role."]
    left_out: Annotated[
        tuple[LeftOutCourse, ...], "Courses that would end after the person's last day: no part of the plan."
    ]
    booked_hours: Annotated[float, "Hours of the booked courses placed, beside the plan's own."]
    booked_cost: Annotated[float, "Their cost, beside that of the plan."]
    assess_savings: Annotated[tuple[AssessSaving, ...], "What confirming a level would save, the most first."]
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()


@dataclass(frozen=True, slots=True)
class LeftOutCourse:
    """A course that is not planned since it would end after the person's last day, and the reason in words.

    `would_end` is the day on which it would, None where nothing can be planned at all.
    """

    id: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]
    would_end: Annotated[
        dt.date | None, "The day on which it would end; null where the last day is over before the plan."
    ]
    reason: Annotated[str, "The same in a sentence."]
