"""What is said about a learning path as a whole. Pure; field names are the JSON keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from ontology.analysis.paths.aims import Aim
from ontology.analysis.paths.alternatives import Alternative
from ontology.analysis.paths.assess_savings import AssessSaving
from ontology.analysis.paths.booking import BookedCourse
from ontology.analysis.paths.lapses import LapsingLevel
from ontology.analysis.paths.path_courses import PathCourse
from ontology.analysis.paths.path_rows import RequirementRow
from ontology.analysis.paths.unreachable import UnreachableLevel
from ontology.analysis.profiles.gap import Standing

__all__ = ["BudgetReport", "LearningPathResult", "PathStatus"]

PathStatus = Literal["optimal", "feasible", "unreachable", "nothing-to-do"]


@dataclass(frozen=True, slots=True)
class BudgetReport:
    """A budget and what came of it.

    `within_budget`: the courses lead to every target that can be reached; if not, they bring the largest readiness
    that the budget buys. `needed_hours` and `needed_cost` are those of the path without a budget. No choice within
    the budget brings a readiness above `readiness_bound`, None where the path lies within.
    """

    max_hours: float | None
    max_cost: float | None
    needed_hours: float
    needed_cost: float
    left_hours: float | None
    left_cost: float | None
    readiness_bound: float | None


@dataclass(frozen=True, slots=True)
class LearningPathResult:
    """The cheapest courses to the targets that can be reached, and the targets that cannot.

    `status` is "optimal" (proved for these entries), "feasible" (best found when the time limit struck),
    "unreachable" (at least one target; the courses are those for the rest) or "nothing-to-do". `lower_bound` is in
    the unit of the aim: hours, cost, number of courses, weeks; of a path to all targets that can be reached.
    `targets` holds competency id -> level.

    `courses` are new ones; hours, cost, weeks and months are theirs. `booked` stand apart; `order` holds the ids of
    both in an order in which every entry condition is met. `months` is None where no hours a week are free for study.
    `within_budget` is None without a budget. `readiness_before` and `readiness_after` are None without requirements.
    `alternatives` is None where they were not asked for. `indispensable` names the courses without which the targets
    cannot be reached at all; none where the budget does not lead to them. `lapses` names levels that would lapse
    before the last day.

    `last_day` is the first day by which all hours can be studied and every course can have ended, begun on the day
    asked about or the person's first; None where no time is free for study, and for the profile of a role.
    `readiness_after`, `standing_after`, `is_target_reached` (every target level is held) and the levels of
    `requirements` are those of that day.
    """

    role: str
    minimise: Aim
    status: PathStatus
    study_hours: float
    cost: float
    lower_bound: float
    courses: tuple[PathCourse, ...]
    unreachable: tuple[UnreachableLevel, ...]
    assess_first: tuple[str, ...]
    targets: Mapping[str, int]
    coach_hours: float = 0.0
    weeks: float = 0.0
    months: float | None = 0.0
    readiness_before: float | None = None
    readiness_after: float | None = None
    standing_after: Standing | None = None
    is_target_reached: bool = True
    last_day: date | None = None
    requirements: tuple[RequirementRow, ...] = ()
    order: tuple[str, ...] = ()
    booked: tuple[BookedCourse, ...] = ()
    booked_hours: float = 0.0
    booked_cost: float = 0.0
    within_budget: bool | None = None
    budget: BudgetReport | None = None
    assess_savings: tuple[AssessSaving, ...] = ()
    alternatives: tuple[Alternative, ...] | None = None
    indispensable: tuple[str, ...] = ()
    lapses: tuple[LapsingLevel, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def taken(self) -> tuple[PathCourse, ...]:
        """The new courses and the booked ones that are possible, in an order that can be taken."""
        rows: dict[str, PathCourse] = {row.id: row for row in (*self.courses, *self.booked)}
        return tuple(rows[course_id] for course_id in self.order)
