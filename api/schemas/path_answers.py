"""The learning path as the OpenAPI document describes it. Imports marshmallow only."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.shown import (
    ABOUT_STATUS,
    STANDINGS,
    STATUSES,
    AnswerAboutProfile,
    AnswerPart,
    date,
    flag,
    number,
    part,
    parts,
    text,
    texts,
    whole,
)
from api.schemas.unreachable import UnreachableLevel


class BroughtLevel(AnswerPart):
    """A level that a course raises a competency to."""

    competency = text("Id of the competency.")
    level = whole("The level afterwards.")
    before = whole("The level before, at the course's turn.")
    renews = flag("Whether a refresher's outcome brings it.")


class PathCourse(AnswerPart):
    """One course of a learning path."""

    id = text("Id of the course.")
    label = text("Its label.")
    study_hours = number("Hours of the learner.")
    cost = number("Cost.")
    coach_hours = number("Hours of a coach.")
    weeks = number("Its own weeks; where it names none, its hours at the person's study hours a week.")
    serves = texts("Target competencies it leads to.")
    enables = texts("Later courses of the path that ask for what it gives.")
    brings = parts(BroughtLevel, "The levels it raises, at its turn.")


class WaitedLevel(AnswerPart):
    """An entry condition that is not met."""

    competency = text("Id of the competency.")
    level = whole("The level asked for.")
    reached = whole("The level there after the path.")


class BookedCourse(PathCourse):
    """A course booked already; its hours and cost are no part of the path's."""

    is_possible = flag("Whether its entry conditions are met, before the path or on it.")
    waits_for = parts(WaitedLevel, "The entry conditions that are not.")


class PathRequirement(AnswerPart):
    """One requirement and what the path does for it."""

    competency = text("Id of the competency.")
    level = whole("The full level.")
    have = whole("The level that counts now; null where it was never assessed.", nullable=True)
    reached = whole("The level on the last day, booked courses included.")
    reached_by = text("Id of the course that brings it there; null where it was there before.", nullable=True)
    by_refresher = flag("Whether that course only renews what lapsed.")
    state = text(
        "held before; reached by the path; lapses: held or reached, and lost again on the last day; left-out: the "
        "course that brings it would end after the person's last day; unreachable by any courses; beyond-budget; "
        "not-asked: desirable only.",
        choices=("held", "reached", "lapses", "left-out", "unreachable", "beyond-budget", "not-asked"),
    )
    necessity = text("How necessary.", choices=("blocking", "essential", "desirable"))
    weight = number("Importance, 1 to 5.")
    is_target = flag("Whether the path is asked to reach it.")


class PathBudget(AnswerPart):
    """A budget and what came of it."""

    max_hours = number("Most study hours.", nullable=True)
    max_cost = number("Most money.", nullable=True)
    needed_hours = number("Hours of the path without a budget.")
    needed_cost = number("Its cost.")
    left_hours = number("Hours left over.", nullable=True)
    left_cost = number("Money left over.", nullable=True)
    readiness_bound = number("No choice within the budget brings more; null where the path fits.", nullable=True)


class AssessSaving(AnswerPart):
    """A target never assessed, and what the path would be less if the level were confirmed."""

    competency = text("Id of the competency.")
    level = whole("The level to be confirmed.")
    saved_hours = number("Study hours less; null where there was no time to compute it.", nullable=True)
    assessment_hours = number("Hours that an assessment takes, where it is told.", nullable=True)
    is_proved = flag("Whether both paths compared are proved.")


class Alternative(AnswerPart):
    """Another set of courses for the same targets, of which none can be left out."""

    courses = texts("Ids of its courses, in an order that can be taken.")
    left_out = texts("Courses of the path that it does without.")
    added = texts("Courses that it has instead.")
    study_hours = number("Hours of the learner.")
    coach_hours = number("Hours of coaches.")
    cost = number("Cost.")
    weeks = number("Sum of its courses' weeks.")
    more_hours = number("More than the path; below 0 where it is less.")
    more_coach_hours = number("More than the path.")
    more_cost = number("More than the path.")
    more_weeks = number("More than the path.")
    is_proved = flag("Whether nothing that is not listed before it costs less in the aim.")


class LapsingLevel(AnswerPart):
    """A level that would lapse before the last day of the path."""

    competency = text("Id of the competency.")
    level = whole("The level held now.")
    valid_until = date("The last day it counts.")
    renewed_by = texts("Courses that keep it: refreshers of its level, and courses that reach it.")


class LearningPath(AnswerAboutProfile):
    """Cheapest set of courses, in an order that can be taken."""

    role = text("The role asked about.")
    minimise = text("The first aim.", choices=("hours", "cost", "courses", "weeks"))
    status = text(ABOUT_STATUS, choices=STATUSES)
    study_hours = number("Hours of the learner.")
    cost = number("Cost.")
    lower_bound = number("No path to every target that can be reached is below this, in the unit of the aim.")
    courses = parts(PathCourse, "The courses, in order.")
    unreachable = parts(UnreachableLevel, "Targets that no courses reach, and why.")
    assess_first = texts("Targets never assessed: assess before training.")
    targets = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(),
        required=True,
        metadata={"description": "Target level by competency id."},
    )
    coach_hours = number("Hours of coaches.")
    weeks = number("Sum of the courses' weeks: no calendar, courses may overlap.")
    months = number("Calendar time at the person's study hours a week; null where there are none.", nullable=True)
    readiness_before = number("Share 0..1 as in the gap; null without requirements.", nullable=True)
    readiness_after = number("The same on the last day of the path, booked courses included.", nullable=True)
    standing_after = text("What is met altogether on that day; null without a role.", choices=STANDINGS, nullable=True)
    is_target_reached = flag("Whether every target level is held on that day.")
    last_day = date(
        "First day by which its courses can have ended; null where no hours are free, and for a role's profile.",
        nullable=True,
    )
    requirements = parts(PathRequirement, "Every requirement of the role, and what reaches it.")
    order = texts("Ids of new and booked courses in an order in which every entry condition is met.")
    booked = parts(BookedCourse, "The courses booked already.")
    booked_hours = number("Their hours, beside those of the path.")
    booked_cost = number("Their cost, beside that of the path.")
    within_budget = fields.Boolean(
        required=True,
        allow_none=True,
        metadata={
            "description": "Whether the budget leads to every target that can be reached; if not, the courses bring "
            "the largest readiness that it buys. Null without a budget."
        },
    )
    budget = part(PathBudget, "The budget; null without one.", nullable=True)
    assess_savings = parts(AssessSaving, "What confirming a level would save, the most first.")
    alternatives = fields.List(
        fields.Nested(Alternative),
        required=True,
        allow_none=True,
        metadata={"description": "The next-best sets of courses in order; null where not looked for."},
    )
    indispensable = texts("Courses of the path without which its targets cannot be reached at all.")
    lapses = parts(LapsingLevel, "Levels that lapse before the last day.")
