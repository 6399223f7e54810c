"""What is said of a schedule: courses with their days and hours, and the whole; field names are JSON keys. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

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

    `is_target_reached`: on the last day of the plan every target level is held. `missing` holds the targets that are
    not, where requirements are known, `readiness_after` and `standing_after` tell of the same day; `budget`,
    `within_budget`, `assess_savings` and `readiness_before` are those of the path. `left_out` names the courses that
    would end after the person's last day, and those that wait for them: they are no part of the plan.
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
    standing_after: Standing | None
    left_out: tuple[LeftOutCourse, ...]
    booked_hours: float
    booked_cost: float
    assess_savings: tuple[AssessSaving, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOutCourse:
    """A course that is not planned since it would end after the person's last day, and the reason in words.

    `would_end` is the day on which it would, None where nothing can be planned at all.
    """

    id: str
    label: str
    would_end: dt.date | None
    reason: str
