"""What is said about a learning path as a whole. Pure; field names are the JSON keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

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

    max_hours: Annotated[float | None, "Most study hours."]
    max_cost: Annotated[float | None, "Most money."]
    needed_hours: Annotated[float, "Hours of the path without a budget."]
    needed_cost: Annotated[float, "Its cost."]
    left_hours: Annotated[float | None, "Hours left over."]
    left_cost: Annotated[float | None, "Money left over."]
    readiness_bound: Annotated[float | None, "No choice within the budget brings more; null where the path fits."]


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

    role: Annotated[str, "The role asked about."]
    minimise: Annotated[Aim, "The first aim."]
    status: Annotated[
        PathStatus, "optimal: proved for these entries; feasible: the best found when the time limit struck."
    ]
    study_hours: Annotated[float, "Hours of the learner."]
    cost: Annotated[float, "Cost."]
    lower_bound: Annotated[float, "No path to every target that can be reached is below this, in the unit of the aim."]
    courses: Annotated[tuple[PathCourse, ...], "The courses, in order."]
    unreachable: Annotated[tuple[UnreachableLevel, ...], "Targets that no courses reach, and why."]
    assess_first: Annotated[tuple[str, ...], "Targets never assessed: assess before training."]
    targets: Annotated[Mapping[str, int], "Target level by competency id."]
    coach_hours: Annotated[float, "Hours of coaches."] = 0.0
    weeks: Annotated[float, "Sum of the courses' weeks: no calendar, courses may overlap."] = 0.0
    months: Annotated[float | None, "Calendar time at the person's study hours a week; null where there are none."] = (
        0.0
    )
    readiness_before: Annotated[float | None, "Share 0..1 as in the gap; null without requirements."] = None
    readiness_after: Annotated[float | None, "The same on the last day of the path, booked courses included."] = None
    standing_after: Annotated[Standing | None, "What is met altogether on that day; null without a role."] = None
    is_target_reached: Annotated[bool, "Whether every target level is held on that day."] = True
    last_day: Annotated[
        date | None,
        "First day by which its courses can have ended; null where no hours are free, and for a role's profile.",
    ] = None
    requirements: Annotated[tuple[RequirementRow, ...], "Every requirement of the role, and what reaches it."] = ()
    order: Annotated[
        tuple[str, ...], "Ids of new and booked courses in an order in which every entry condition is met."
    ] = ()
    booked: Annotated[tuple[BookedCourse, ...], "The courses booked already."] = ()
    booked_hours: Annotated[float, "Their hours, beside those of the path."] = 0.0
    booked_cost: Annotated[float, "Their cost, beside that of the path."] = 0.0
    within_budget: Annotated[
        bool | None,
        "Whether the budget leads to every target that can be reached; if not, the courses bring the "
        "largest readiness that it buys. Null without a budget.",
    ] = None
    budget: Annotated[BudgetReport | None, "The budget; null without one."] = None
    assess_savings: Annotated[tuple[AssessSaving, ...], "What confirming a level would save, the most first."] = ()
    alternatives: Annotated[
        tuple[Alternative, ...] | None, "The next-best sets of courses in order; null where not looked for."
    ] = None
    indispensable: Annotated[
        tuple[str, ...], "Courses of the path without which its targets cannot be reached at all."
    ] = ()
    lapses: Annotated[tuple[LapsingLevel, ...], "Levels that lapse before the last day."] = ()
    remarks: Annotated[tuple[str, ...], "What else should be known."] = ()

    @property
    def taken(self) -> tuple[PathCourse, ...]:
        """The new courses and the booked ones that are possible, in an order that can be taken."""
        rows: dict[str, PathCourse] = {row.id: row for row in (*self.courses, *self.booked)}
        return tuple(rows[course_id] for course_id in self.order)
