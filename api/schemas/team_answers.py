"""Answers about teams as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import (
    ABOUT_STATUS,
    STATUSES,
    Answer,
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

_STATES = ("short", "sole-holder", "no-reserve", "below-target", "covered")


class AnswerAboutTeam(Answer):
    """What every answer about a team holds."""

    team = text("The team.")
    on = date("The day asked about.")
    away = texts("People taken as absent because the question said so.")


class ShiftCover(AnswerPart):
    """One shift of a need that applies to each shift."""

    shift = text("Id of the shift.")
    depth = whole("Members present at or above the level.")
    state = text("How it stands.", choices=_STATES)
    qualified = texts("Ids of those at or above the level, absent ones included.")
    present = texts("Those of them who are there.")


class CoverageRow(AnswerPart):
    """One cover need."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("The (worst) shift; null for the whole team.", nullable=True)
    minimum = whole("People present at the least.")
    target = whole("People qualified.")
    depth = whole("Members present at or above the level.")
    state = text("How it stands: the first that holds.", choices=_STATES)
    qualified = texts("Ids of those at or above the level, absent ones included.")
    present = texts("Those of them who are there.")
    criticality = whole("1..5; 5 = life, law or supply within hours.")
    together = text("Group of needs that different people must meet at once; empty where none.")
    shifts = parts(ShiftCover, "Every shift of a need that applies to each.")


class Coverage(AnswerAboutTeam):
    """Depth of every cover need."""

    absent = texts("Members not there, for whatever cause.")
    needs = parts(CoverageRow, "Every cover need.")
    remarks = texts("What else should be known.")


class FallenNeed(AnswerPart):
    """A need that would be short."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("Where; null for the team.", nullable=True)


class TogetherNeed(FallenNeed):
    """A need of a group that different people must meet at once."""

    together = text("The group.")
    slots = whole("How many of its slots are meant.")


class SinglePoint(AnswerPart):
    """Whose absence alone breaks what."""

    id = text("Id of the person.")
    needs = parts(FallenNeed, "Needs that would be short.")
    places = texts("Places one slot of which would be empty.")
    together = parts(TogetherNeed, "Needs of a group that could not all be met at once.")


class SinglePointsOfFailure(AnswerAboutTeam):
    """People on whom alone something rests: a fault of the organisation."""

    people = parts(SinglePoint, "By id.")


class MannedPlace(AnswerPart):
    """A slot of a place and who fills it."""

    place = text("Id of the place.")
    person = text("Id of the person.")
    shift = text("The shift; null for the team.", nullable=True)


class MannedNeed(AnswerPart):
    """A slot of a need of a group and who fills it."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    shift = text("The shift; null for the team.", nullable=True)
    together = text("The group.")
    person = text("Id of the person.")


class Bottleneck(AnswerPart):
    """Slots that compete for too few people."""

    places = texts("A place's id once for every slot of it.")
    needs = parts(TogetherNeed, "The same for needs of a group.")
    people = texts("Everyone able for one of these slots.")


class Broken(AnswerPart):
    """Something that does not hold now."""

    kind = text("What.", choices=("need", "place", "together"))
    place = text("Id of the place.", nullable=True)
    competency = text("Id of the competency.", nullable=True)
    level = whole("The level needed.", nullable=True)
    applies = text("team, each-shift, or the id of one shift.", nullable=True)
    shift = text("The shift.", nullable=True)
    missing = whole("People missing.")


class Tolerance(AnswerPart):
    """How many absences, whichever, leave intact what holds now."""

    needs = whole("Of needs; null where there is none to break.", nullable=True)
    places = whole("Of places; null where not all are filled, or there are none.", nullable=True)
    overall = whole("The lesser of the two; null when something is broken already.", nullable=True)
    broken = parts(Broken, "What is broken already.")


class PairsBreaking(AnswerPart):
    """How many pairs of absences break something."""

    breaking = whole("Pairs that do.")
    pairs = whole("All pairs of people present.")


class Staffing(AnswerAboutTeam):
    """Who can fill a team's places at once."""

    places = whole("Slots of places.")
    filled = whole("How many of them are filled at the most.")
    together_slots = whole("Slots of needs of a group.")
    together_filled = whole("How many of them are filled.")
    assignment = parts(MannedPlace, "One of the best assignments.")
    together_assignment = parts(MannedNeed, "The same for needs of a group.")
    unfilled = texts("A place's id once for every slot that stays empty.")
    unfilled_needs = parts(TogetherNeed, "The same for needs of a group.")
    bottleneck = part(Bottleneck, "Why some stay empty.")
    tolerance = part(Tolerance, "What absences the team stands.")
    critical_absences = texts("One smallest set of people whose absence breaks something.")
    pairs_breaking = part(PairsBreaking, "How many pairs of absences break something.")
    remarks = texts("What else should be known.")


class PlannedLearning(AnswerPart):
    """Who learns what."""

    person = text("Id of the person.")
    competency = text("Id of the competency.")
    level = whole("The level to reach.")
    courses = texts("The courses, in order.")


class LearnerPlan(AnswerPart):
    """All courses of one person."""

    person = text("Id of the person.")
    study_hours = number("Hours of the learner.")
    coach_hours = number("Hours of a coach.")
    cost = number("Cost.")
    courses = texts("The courses, in order.")


class MissingInShift(AnswerPart):
    """How many people one shift lacks."""

    shift = text("Id of the shift.")
    missing = whole("People missing.")


class UnmetNeed(AnswerPart):
    """A need that stays below its target."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("The shift that lacks people where it is one.", nullable=True)
    missing = whole("People missing, summed over shifts.")
    reason = text("Why.")
    shifts = parts(MissingInShift, "The shifts of a need that applies to each.")


class UnmetPlaces(AnswerPart):
    """Slots for which too few people are able even so."""

    places = texts("The places that compete.")
    competencies = texts("The competencies that compete.")
    missing = whole("People missing.")
    reason = text("Why.")


class CrossTraining(AnswerAboutTeam):
    """Who should learn what."""

    hours_limit = number("Most hours of one person, as asked.", nullable=True)
    tolerance = whole("Tolerance, as asked.", nullable=True)
    status = text(ABOUT_STATUS, choices=STATUSES)
    is_proved = flag("Whether no plan leaves fewer missing, and none as good takes fewer hours.")
    study_hours = number("Hours of learners.")
    coach_hours = number("Hours of coaches.")
    total_hours = number("Both.")
    cost = number("Cost.")
    lower_bound = number("No plan that leaves as few missing is below this many hours of learners and coaches.")
    missing = whole("People still missing after the plan, summed over shifts.")
    plan = parts(PlannedLearning, "The plan.")
    learners = parts(LearnerPlan, "The same by person.")
    unmet = parts(UnmetNeed, "Needs that cannot be met, and why.")
    unmet_places = parts(UnmetPlaces, "Places that cannot be filled, and why.")
