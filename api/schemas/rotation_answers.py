"""The answer about a job rotation as the OpenAPI document describes it. Imports marshmallow only."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.shown import AnswerPart, date, parts, text, texts, whole
from api.schemas.team_answers import AnswerAboutTeam

PURPOSES = ("learn", "keep-current", "relieve-strain")
_STATUSES = ("optimal", "feasible", "infeasible", "unknown", "nothing-to-do")
_RULES = ("able-people", "practice", "maximum-stay", "minimum-stay", "time-limit")


def _wholes(about: str) -> fields.List[int]:
    return fields.List(fields.Integer(), required=True, metadata={"description": about})


class RotationInterval(AnswerPart):
    """An interval of the period."""

    number = whole("From 1.")
    start = date("Its first day.")
    end = date("Its last day.")


class RotationRow(AnswerPart):
    """One slot of a place in one interval."""

    interval = whole("Number of the interval.")
    start = date("Its first day.")
    end = date("Its last day.")
    place = text("Id of the place.")
    role = text("Id of its role.")
    shift = text("The shift; null for the team.", nullable=True)
    slot = whole("Which of the place's posts, from 1.")
    person = text("Id of who holds it, and no other place in this interval.")
    learners = texts("Who learns beside them: nobody or one.")


class RotationPractice(AnswerPart):
    """How often someone holds a place of a role."""

    role = text("Id of the role.")
    wanted = whole("Intervals wanted; 0 where nothing is.")
    held = whole("Intervals held.")


class RotationPerson(AnswerPart):
    """What the plan means for one person."""

    person = text("Id of the person.")
    places = texts("Places held, in the order of the first time.")
    intervals_held = whole("Intervals in which they hold a place.")
    intervals_learning = whole("Intervals in which they learn beside a holder.")
    strain = whole("Strain of the places held or learned, summed over intervals.")
    moves = whole("Stays that begin after the first interval.")
    not_there = _wholes("Numbers of the intervals in which they are not there on all days.")
    practice = parts(RotationPractice, "By role.")


class RotationLearner(AnswerPart):
    """Who learns which place."""

    person = text("Id of the person.")
    place = text("Id of the place.")
    wanted = whole("Intervals beside a holder that are wanted.")
    intervals = _wholes("Numbers of the intervals planned.")
    beside = texts("Who they learn beside, in order.")


class RotationLapse(AnswerPart):
    """Someone there who is able on the first day of the period, and then no longer."""

    person = text("Id of the person.")
    competency = text("Id of the competency that lapsed.")


class RotationReason(AnswerPart):
    """Why there is no rotation."""

    rule = text("What cannot be kept.", choices=_RULES)
    interval = whole("Number of the interval; null for the whole period.", nullable=True)
    places = texts("The places; for able-people once for every slot that competes.")
    people = texts("For able-people everyone able for one of these slots; else whom it is about.")
    missing = whole("People missing, or intervals by which the rule is broken.")
    lapsed = parts(RotationLapse, "Who would be able for one of the places but for a lapse.")
    not_there = texts("Who is able for one of the places, and not there on all days.")
    reason = text("The same in words.")


class Rotation(AnswerAboutTeam):
    """Who holds which place when, so that every place is always filled by someone able."""

    purpose = text("What for.", choices=PURPOSES)
    start = date("First day of the period.")
    end = date("Last day of the period.")
    interval_weeks = whole("Weeks of an interval.")
    minimum_stay = whole("Intervals someone stays at a place at the least.")
    maximum_stay = whole("And at the most; null where there is no limit.", nullable=True)
    status = text(
        "optimal: proved; feasible: the best when the time limit struck; infeasible: see reasons; unknown: the time "
        "limit struck before a plan was found; nothing-to-do: the team has no places.",
        choices=_STATUSES,
    )
    moves = whole("Stays that begin after the first interval; null without a plan.", nullable=True)
    lower_bound = whole("No plan with this largest strain has fewer moves.")
    largest_strain = whole("The most strain that one person carries; null without a plan.", nullable=True)
    strain_lower_bound = whole("For relieve-strain: in no plan it is less.")
    intervals = parts(RotationInterval, "The period.")
    rows = parts(RotationRow, "By interval, place and slot.")
    people = parts(RotationPerson, "By id.")
    learners = parts(RotationLearner, "By id.")
    reasons = parts(RotationReason, "Why there is no rotation.")
    remarks = texts("What was taken for granted.")
