"""Schedules and development plans as the OpenAPI document describes them. Imports marshmallow and records."""

from __future__ import annotations

from typing import Final

from marshmallow import Schema, fields

from api.schemas.answers import Gap
from api.schemas.path_answers import AssessSaving, PathBudget, PathRequirement
from api.schemas.route_answers import BrokenLimit, Route
from api.schemas.shown import (
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
from ontology.records import STRANDS

ABOUT_SCHEDULE_STATUS = (
    "optimal: the path is proved and no calendar of its courses ends earlier; feasible: one of the two was cut short."
)


class StudyWeek(AnswerPart):
    """The hours of one course in one week."""

    monday = date("The Monday of the week.")
    study_hours = number("Hours of the learner in it.")


class ScheduledCourse(AnswerPart):
    """One course with its days."""

    id = text("Id of the course.")
    label = text("Its label.")
    first_day = date("Its first day.")
    last_day = date("Its last day.")
    study_hours = number("Hours of the learner.")
    coach_hours = number("Hours of a coach.")
    cost = number("Cost.")
    hours_per_week = number("Hours over the weeks from the first to the last day.")
    slack_days = whole("Days it can begin later, at least, without the plan ending later or a certificate lapsing.")
    is_critical = flag("Whether it has no slack.")
    is_renewal = flag("Whether it renews a certificate that would lapse meanwhile.")
    is_booked = flag("Whether it is booked already: its hours and cost are not counted again.")
    waits_for = texts("Courses whose end makes it possible.")
    serves = texts("Target competencies it leads to.")
    weeks = parts(StudyWeek, "Its hours, week by week.")


class CriticalLink(AnswerPart):
    """One course of the critical chain, and what its first day waits for."""

    course = text("Id of the course.")
    after = text("Id of the course before it; null for the first.", nullable=True)
    kind = text(
        "start: it begins with the plan; release: it cannot be had earlier; condition: it asks for what the other "
        "gives; place: as many courses as may run at once; hours: the hours a week are taken until the other ends.",
        choices=("start", "release", "condition", "place", "hours"),
    )
    reason = text("The same in a sentence.")


class LapsingCertificate(AnswerPart):
    """A certificate that would lapse before the plan ends."""

    competency = text("Id of the competency.")
    label = text("Its label.")
    level = whole("The level held.")
    valid_until = date("The last day it counts.")
    needed_for = texts("Roles and courses that ask for it.")
    renewal = text("The course planned to renew it.", nullable=True)
    renewed_on = date("The day that course ends.", nullable=True)
    is_in_time = fields.Boolean(
        required=True, allow_none=True, metadata={"description": "Whether that is no later than its last day."}
    )
    reason = text("Why nothing is planned, or what is wrong with it; empty otherwise.")


class LeftOutCourse(AnswerPart):
    """A course that would end after the person's last day."""

    id = text("Id of the course.")
    label = text("Its label.")
    would_end = date("The day on which it would end; null where the last day is over before the plan.", nullable=True)
    reason = text("The same in a sentence.")


class Schedule(AnswerAboutProfile):
    """A learning path as a calendar."""

    role = text("The role asked about.")
    minimise = text("The first aim of the path.")
    status = text(ABOUT_SCHEDULE_STATUS, choices=STATUSES)
    start = date("First day of the plan.")
    finish = date("The day the last course ends; null without courses.", nullable=True)
    lower_bound = date("No calendar of these courses ends before this day.", nullable=True)
    study_hours = number("Hours of the learner, renewals included, booked courses not.")
    cost = number("Cost, renewals included, booked courses not.")
    study_hours_per_week = number("Hours a week for learning.")
    at_once = whole("Most courses that run on one day.")
    holidays = fields.List(
        fields.Date(),
        required=True,
        metadata={"description": "Days without study in the plan: holidays, and days the person is away."},
    )
    courses = parts(ScheduledCourse, "The courses by first day.")
    critical_chain = texts(
        "Courses without slack, each waiting for the end of the one before, from the start to the finish; empty where "
        "no such chain exists."
    )
    critical_links = parts(CriticalLink, "The same courses, and why each waits.")
    no_chain = text("Why there is no such chain; empty otherwise.")
    lapsing = parts(LapsingCertificate, "Certificates that lapse before the finish, by day.")
    unreachable = parts(UnreachableLevel, "Targets that no courses reach, and why.")
    assess_first = texts("Targets never assessed: assess before training.")
    is_target_reached = flag("Whether every target level is held on the last day of the plan.")
    missing = parts(PathRequirement, "Target levels that are not: unreachable, beyond the budget, lapsed, left out.")
    left_out = parts(LeftOutCourse, "Courses that would end after the person's last day: no part of the plan.")
    within_budget = fields.Boolean(
        required=True,
        allow_none=True,
        metadata={"description": "Whether the budget leads to every target that can be reached; null without one."},
    )
    budget = part(PathBudget, "The budget; null without one.", nullable=True)
    readiness_before = number("Share 0..1 as in the gap; null without requirements.", nullable=True)
    readiness_after = number("The same on the last day of the plan, booked courses included.", nullable=True)
    standing_after = text("What is met altogether on that day; null without a role.", choices=STANDINGS, nullable=True)
    booked_hours = number("Hours of the booked courses placed, beside the plan's own.")
    booked_cost = number("Their cost, beside that of the plan.")
    assess_savings = parts(AssessSaving, "What confirming a level would save, the most first.")


class PlanOutcome(AnswerPart):
    """What a course brings, what to practise afterwards, how it is confirmed."""

    competency = text("Id of the competency.")
    label = text("Its label.")
    level = whole("The level the course reaches.")
    level_label = text("The level's name.")
    is_target = flag("Whether the target role asks for the competency.")
    practice = text("What to practise on the job after the course.")
    assessed_by = text("The source that counts.", choices=("certificate", "assessor", "manager"))
    assessment = text("How the level is confirmed.")
    assessment_hours = number("Hours the assessment takes; null where nobody said.", nullable=True)


class FollowUp(AnswerPart):
    """A day on which to ask what came of a course."""

    months = whole("Calendar months after its last day.")
    day = date("That day, whatever weekday it is.")


class PlanStep(AnswerPart):
    """One course of the plan with what follows it."""

    course = text("Id of the course.")
    label = text("Its label.")
    strand = text("Kind of learning.", choices=(*STRANDS, "unstated"))
    method = text("How it is delivered; empty where nobody said.")
    first_day = date("Its first day.")
    last_day = date("Its last day.")
    study_hours = number("Hours of the learner.")
    coach_hours = number("Hours of a coach.")
    cost = number("Cost.")
    is_renewal = flag("Whether it renews a certificate.")
    is_booked = flag("Whether it is booked already.")
    outcomes = parts(PlanOutcome, "What it brings.")
    follow_ups = parts(FollowUp, "When to ask what came of it.")


class StrandShare(AnswerPart):
    """Hours of one kind of learning."""

    strand = text("Kind of learning.", choices=(*STRANDS, "unstated"))
    study_hours = number("Hours of the learner.")
    share = number("Share of all study hours, 0..1; null without any.", nullable=True)
    rule_of_thumb = number("The share often named: common practice, weak evidence.", nullable=True)


class PlanRoutes(AnswerPart):
    """Whether the direct move is within the usual limits, and the route with the least study hours."""

    status = text("Of the routes.", choices=STATUSES)
    within_reach = flag("Whether the direct move breaks no limit.")
    broken_limits = parts(BrokenLimit, "The limits it breaks.")
    best = part(Route, "The route with the least study hours.", nullable=True)


def _take_part(answer: type[Schema], name: str, *left_out: str) -> type[Schema]:
    """Return the schema of an answer as a part of another one."""
    return AnswerPart.from_dict({k: f for k, f in answer().fields.items() if k not in left_out}, name=name)


PlanGap: Final = _take_part(Gap, "PlanGap", "revision", "cautions", "person", "from_role")
PlanSchedule: Final = _take_part(Schedule, "PlanSchedule", "revision", "cautions", "person", "from_role", "on")


class DevelopmentPlan(AnswerAboutProfile):
    """What a person takes to their manager."""

    role = text("The target role.")
    role_label = text("Its label.")
    status = text(ABOUT_SCHEDULE_STATUS, choices=STATUSES)
    now = part(PlanGap, "Where the person stands.")
    schedule = part(PlanSchedule, "The learning path as a calendar.")
    steps = parts(PlanStep, "The courses with what follows them.")
    strands = parts(StrandShare, "Experience, social and formal learning.")
    coach_hours = number("Hours of coaches.")
    assessment_hours = number("Hours of the assessments, as far as they are known.")
    routes = part(PlanRoutes, "Other ways, where asked for; null otherwise.", nullable=True)
