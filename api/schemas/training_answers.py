"""The answers about cross-training as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import (
    ABOUT_STATUS,
    STATUSES,
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
from api.schemas.team_answers import AnswerAboutTeam, CoverageRow, TogetherNeed


class OutcomeCoaching(AnswerPart):
    """One outcome of a course, and who could coach it."""

    competency = text("Id of the competency.")
    level = whole("The level it leads to.")
    coach_hours = number("Its share of the hours of a coach, the same for every outcome.")
    people = texts("Who of the team or a lending team holds the level on the day and is there until then.")


class CourseCoaching(AnswerPart):
    """A course with coach hours, and who could coach it; each outcome may have a coach of its own."""

    course = text("Id of the course.")
    coach_hours = number("Hours of coaches.")
    people = texts("Who could coach every outcome, the learner apart.")
    outcomes = parts(OutcomeCoaching, "Who could coach what.")


class Mended(AnswerPart):
    """What had people missing before and counts this level: a need, or a place."""

    competency = text("Id of the competency; null for a place.", nullable=True)
    level = whole("The level needed.", nullable=True)
    applies = text("team, each-shift, or the id of one shift.", nullable=True)
    shift = text("The shift; null for the team.", nullable=True)
    place = text("Id of the place; null for a need.", nullable=True)


class PlannedLearning(AnswerPart):
    """Who learns what."""

    person = text("Id of the person.")
    competency = text("Id of the competency.")
    level = whole("The level to reach.")
    courses = texts("The courses, in order.")
    study_hours = number("Hours of the learner for these courses, also where one serves another line.")
    coach_hours = number("Hours of a coach for these courses.")
    coaching = parts(CourseCoaching, "Courses with coach hours, and who could coach.")
    finished_on = date("The day on which the last of them is done: the level counts from then on.")
    mends = parts(Mended, "The needs and places that count this level and had people missing.")


class LearnerPlan(AnswerPart):
    """All courses of one person."""

    person = text("Id of the person.")
    study_hours = number("Hours of the learner.")
    coach_hours = number("Hours of a coach.")
    cost = number("Cost.")
    courses = texts("The courses, in order.")
    finished_on = date("The day on which the last course is done.")


class MissingInShift(AnswerPart):
    """How many people one shift lacks."""

    shift = text("Id of the shift.")
    missing = whole("People missing.")


class UnmetGoal(AnswerPart):
    """A need that stays below its target, or slots that stay empty."""

    kind = text(
        "need: people short of its target; place: empty slots of a place; together: those of a need of a group.",
        choices=("need", "place", "together"),
    )
    place = text("Id of the place; null otherwise.", nullable=True)
    role = text("Id of the role of the place; null otherwise.", nullable=True)
    competency = text("Id of the competency; null for a place.", nullable=True)
    level = whole("The level needed; null for a place.", nullable=True)
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("The shift that lacks people where it is one.", nullable=True)
    together = text("The group whose slots are empty; null otherwise.", nullable=True)
    missing = whole("People missing or slots empty, summed over shifts.")
    reason = text("Why.")
    shifts = parts(MissingInShift, "The shifts of a need that applies to each.")


class UnmetPlaces(AnswerPart):
    """Slots without as many able people to spare as the wished tolerance asks for."""

    places = texts("The places that compete.")
    competencies = texts("The competencies that compete.")
    missing = whole("People missing.")
    reason = text("Why.")


class MonthOfLearning(AnswerPart):
    """What one person learns in one month."""

    month = text("Year and month, like 2026-11.")
    person = text("Id of the person.")
    courses = texts("The courses, in order.")
    study_hours = number("Hours planned.")
    hours_free = number("Working hours available: 40 a week from the day asked about, recorded absences left out.")


class PlannedCourse(AnswerPart):
    """A course of one person on its days."""

    person = text("Id of the person.")
    course = text("Id of the course.")
    begins_on = date("The day it begins.")
    finished_on = date("The day it is done: from then on what it brings counts.")
    released_until = date("The last day off the job for it; null for learning at work.", nullable=True)
    is_held_back = flag("Whether its learner cannot be released earlier.")


class ReleaseConflict(AnswerPart):
    """A course off the job that leaves a need short, or a place empty, on its days."""

    person = text("Id of the person.")
    course = text("Id of the course.")
    competency = text("Id of the competency that would be short; null for a place.", nullable=True)
    level = whole("The level needed.", nullable=True)
    applies = text("team, each-shift, or the id of one shift.", nullable=True)
    shift = text("The shift; null for the team.", nullable=True)
    place = text("Id of the place that would be empty; null for a need.", nullable=True)


class UnrenewedLevel(AnswerPart):
    """A level that counts for the team today and not on the day after the plan, since nothing renews it."""

    person = text("Id of the person.")
    competency = text("Id of the competency.")
    level = whole("The level that counts.")
    valid_until = date("The last day on which it is held.")
    renewal = text("The course that would keep it, that with the latest last day to act.", nullable=True)
    last_day_to_act = date("The last day to begin it.", nullable=True)
    is_late = flag("Whether that day has passed on the day asked about.")


class AfterPlan(AnswerPart):
    """The team on the day that "after the plan" means: what coverage and staffing say of it with the plan done."""

    on = date("The day the last course is done; the day asked about where there is nothing to do.")
    absent = texts("Members who are not there that day.")
    needs = parts(CoverageRow, "Every cover need on that day.")
    places = whole("Slots of places.")
    filled = whole("How many of them can be filled.")
    together_slots = whole("Slots of needs that different people must meet at once.")
    together_filled = whole("How many of them can be filled.")
    unfilled = texts("A place's id once for every slot that stays empty.")
    unfilled_needs = parts(TogetherNeed, "The needs of groups whose slots stay empty.")
    joining = texts("Who is a member that day and was none on the day asked about.")
    leaving = texts("Who was a member on the day asked about and is none that day.")
    lapses = parts(UnrenewedLevel, "What lapses before that day; the plan does not renew it.")


class PracticeCeiling(AnswerPart):
    """A need whose occasions keep fewer people current than are wanted, or than there would be."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("The shift; null for the team.", nullable=True)
    ceiling = whole("Holders that the occasions of a year keep current.")
    wanted = whole("People wanted.")
    holders = whole("People who hold it after the plan.")
    reason = text("What follows.")


class CrossTraining(AnswerAboutTeam):
    """Who should learn what."""

    hours_limit = number("Most hours of one person, as asked.", nullable=True)
    tolerance = whole("Tolerance, as asked.", nullable=True)
    holes = text("What is to be closed, as asked.", choices=("needs", "places", "all"))
    exclude_people = texts("People who do not learn, as asked.")
    exclude_courses = texts("Courses that are not used, as asked.")
    by = date("Last day of every course, as asked.", nullable=True)
    fair = flag("Whether the largest load of one person is to be small, as asked.")
    with_coach = flag("Whether a course with coach hours needs somebody who could coach it, as asked.")
    lending_teams = texts("Teams whose people may coach, as asked.")
    status = text(ABOUT_STATUS, choices=STATUSES)
    is_proved = flag("Whether no plan leaves fewer missing, and none as good takes fewer hours.")
    study_hours = number("Hours of learners.")
    coach_hours = number("Hours of coaches.")
    total_hours = number("Both.")
    cost = number("Cost.")
    lower_bound = number("No plan that leaves as few missing is below this many hours of learners and coaches.")
    missing = whole("People still short of targets after the plan, summed over shifts, and slots still empty.")
    plan = parts(PlannedLearning, "The plan.")
    learners = parts(LearnerPlan, "The same by person.")
    unmet = parts(UnmetGoal, "Needs below their target and empty slots, and why.")
    unmet_places = parts(UnmetPlaces, "For a wished tolerance: slots with too few people to spare, and why.")
    largest_load = number("Most study hours of one person.")
    timetable = parts(MonthOfLearning, "The plan by month and person.")
    courses = parts(PlannedCourse, "The plan by course and day.")
    finished_on = date("The day on which the last course is done; null where there is none.", nullable=True)
    after_on = date("The day that after the plan means: the same, or the day asked about.")
    after = part(AfterPlan, "The team on that day.")
    release_conflicts = parts(ReleaseConflict, "Courses off the job for which nobody can be spared.")
    ceilings = parts(PracticeCeiling, "Needs for which more holders would be cover on paper.")
    remarks = texts("What else should be known.")


class ChartPerson(AnswerPart):
    """A column of the chart."""

    id = text("Id of the person.")
    name = text("Name.")
    shift = text("Id of the shift; empty where there is none.")
    is_absent = flag("Whether the person is not there on the day.")
    starts_on = date("First day of who starts before the day after the plan; else null.", nullable=True)
    ends_on = date("Last day of who leaves before the day after the plan; else null.", nullable=True)


class ChartCell(AnswerPart):
    """One person and one row."""

    person = text("Id of the person.")
    state = text(
        "holds the level; due by the plan; later: from a day on without the plan; not-planned; not-counted: the row is "
        "for another shift.",
        choices=("holds", "due", "later", "not-planned", "not-counted"),
    )
    until = date("Last day on which the level of the row is held, where it ends.", nullable=True)
    due = date("Day from which it is held, where that lies ahead.", nullable=True)
    is_held_after = flag("Whether it is held on the day after the plan.")


class ChartRow(AnswerPart):
    """A need, or a job."""

    kind = text("What it is.", choices=("need", "job"))
    competency = text("Id of the competency; null for a job.", nullable=True)
    level = whole("The level needed; null for a job.", nullable=True)
    role = text("Id of the role; null for a need.", nullable=True)
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("The shift; null for the team.", nullable=True)
    wanted = whole("People wanted: the target of a need, the places of a job.")
    criticality = whole("1..5; null for a job.", nullable=True)
    holders = whole("People who hold it on the day, absent ones included.")
    holders_planned = whole("The same on the day after the plan.")
    cells = parts(ChartCell, "A cell for each person, in their order.")


class TrainingTimetable(AnswerAboutTeam):
    """Who holds what, and who is to hold it until when."""

    by = date("Last day of every course, as asked.", nullable=True)
    tolerance = whole("Tolerance, as asked.", nullable=True)
    holes = text("What is to be closed, as asked.", choices=("needs", "places", "all"))
    holes = text("What is to be closed, as asked.", choices=("needs", "places", "all"))
    status = text(ABOUT_STATUS, choices=STATUSES)
    is_proved = flag("Whether no plan leaves fewer missing, and none as good takes fewer hours.")
    study_hours = number("Hours of learners.")
    coach_hours = number("Hours of coaches.")
    missing = whole("People still short of targets after the plan, summed over shifts, and slots still empty.")
    courses = parts(PlannedCourse, "The plan by course and day.")
    finished_on = date("The day on which the last course is done; null where there is none.", nullable=True)
    after_on = date("The day that after the plan means: the same, or the day asked about.")
    after = part(AfterPlan, "The team on that day.")
    release_conflicts = parts(ReleaseConflict, "Courses off the job for which nobody can be spared.")
    people = parts(ChartPerson, "The columns, by shift and id.")
    rows = parts(ChartRow, "The rows.")
    unmet = parts(UnmetGoal, "Needs below their target and empty slots, and why.")
    unmet_places = parts(UnmetPlaces, "For a wished tolerance: slots with too few people to spare, and why.")
    remarks = texts("What else should be known.")
