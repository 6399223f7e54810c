"""Reach gains and the framework review as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import (
    ABOUT_STATUS,
    Answer,
    AnswerAboutProfile,
    AnswerPart,
    date,
    flag,
    number,
    parts,
    text,
    texts,
    whole,
)

_STATUSES = ("optimal", "feasible")


class GainedRole(AnswerPart):
    """A role that comes within reach."""

    id = text("Id of the role.")
    label = text("Its label.")
    study_hours = number("Preparation still left then.")
    months = number("Its calendar time; null where no hours a week are free for study.", nullable=True)


class CourseGain(AnswerPart):
    """A course and the roles it brings within reach."""

    id = text("Id of the course.")
    label = text("Its label.")
    study_hours = number("Hours of it and of what it needs first.")
    cost = number("Cost of it and of what it needs first.")
    courses = texts("What it needs first, in order, and itself.")
    gained = parts(GainedRole, "The roles, by preparation left.")


class LevelGain(AnswerPart):
    """A level and the roles it brings within reach."""

    competency = text("Id of the competency.")
    label = text("Its label.")
    have = whole("The level held.")
    level = whole("The level supposed, however it is come by.")
    gained = parts(GainedRole, "The roles, by preparation left.")


class ReachGains(AnswerAboutProfile):
    """What widens the reach most."""

    status = text(ABOUT_STATUS, choices=_STATUSES)
    within_reach = whole("Roles within reach already.")
    courses = parts(CourseGain, "Courses: most roles first, then least hours.")
    levels = parts(LevelGain, "Levels: most roles first, then fewest steps.")


class LoneRole(AnswerPart):
    """A role at the edge of the role graph."""

    id = text("Id of the role.")
    label = text("Its label.")
    held_back_by = texts("The competencies that are missing in most of the moves that would join it to the others.")


class UntaughtLevel(AnswerPart):
    """A level asked for and reached by no order of courses."""

    competency = text("Id of the competency.")
    level = whole("The level.")
    roles = texts("The roles that ask for it.")
    learned_on_job = flag("Whether all of them expect time in the role to bring it.")
    reason = text("Why no courses reach it.")


class UnusedCourse(AnswerPart):
    """A course that no cheapest path uses."""

    id = text("Id of the course.")
    label = text("Its label.")


class HighEntryLevel(AnswerPart):
    """An entry level as high as the full level that keeps roles apart."""

    role = text("The role that asks.")
    competency = text("What it asks.")
    level = whole("Entry and full level.")
    lowered_to = whole("The entry level at which the moves would be within reach.")
    stepping_stones = texts("The roles they start from.")


class PivotalCompetency(AnswerPart):
    """A competency that holds routes up."""

    competency = text("Id of the competency.")
    label = text("Its label.")
    betweenness = number("Betweenness of the moves that wait for it, added up.")
    moves = whole("Moves within reach that ask it to be learned.")


class CentralRole(AnswerPart):
    """A role that routes pass through."""

    id = text("Id of the role.")
    label = text("Its label.")
    betweenness = number("Share of cheapest chains of moves through it, 0..1.")


class FrameworkReview(Answer):
    """What stands out in the framework."""

    on = date("The day people's levels are taken on.")
    status = text(ABOUT_STATUS, choices=_STATUSES)
    roles = whole("Roles with requirements.")
    moves = whole("Moves within reach between their full profiles; those found, where the time limit struck.")
    people = whole("People asked whether they reach a role; none is named.")
    unreachable_roles = parts(LoneRole, "Roles that no role's profile and nobody has within reach.")
    dead_ends = parts(LoneRole, "Roles from whose full profile no move is within reach.")
    untaught_levels = parts(UntaughtLevel, "Levels that roles ask for and no courses reach.")
    unused_courses = parts(
        UnusedCourse, "Courses in no path of least hours, from nothing or from a role one move away."
    )
    high_entry_levels = parts(HighEntryLevel, "Entry levels at full level that keep roles apart.")
    pivotal_competencies = parts(PivotalCompetency, "Competencies that hold most routes up.")
    central_roles = parts(CentralRole, "Roles that most routes pass through.")
    remarks = texts("What else should be known.")
