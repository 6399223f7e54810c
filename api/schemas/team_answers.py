"""Answers about teams as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import (
    Answer,
    AnswerPart,
    date,
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
    places = texts("The place that staffing would leave empty: one slot at the most.")
    together = parts(TogetherNeed, "The need of a group one slot of which would be empty.")


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
    share = number("Share of them, 0..1; null when there is no pair.", nullable=True)


class TriplesBreaking(AnswerPart):
    """How many triples of absences break something."""

    breaking = whole("Triples that do; null when there are too many kinds of people to count.", nullable=True)
    triples = whole("All triples of people present.")
    share = number("Share of them, 0..1; null when there is none, or it was not counted.", nullable=True)


class MissingLevel(AnswerPart):
    """A level that is needed and not held."""

    competency = text("Id of the competency.")
    level = whole("The level needed without supervision.")
    have = whole("The level held, 0 when lapsed; null when not assessed.", nullable=True)


class ClosestPerson(AnswerPart):
    """Who could learn to fill an empty slot with the least: an offer to learn, no ranking."""

    place = text("Id of the place; null for a need of a group.", nullable=True)
    together = text("The group of the need; null for a place.", nullable=True)
    shift = text("The shift; null for the team.", nullable=True)
    person = text("Id of the person.")
    gap = whole("Levels missing, summed.")
    missing = parts(MissingLevel, "Blocking and essential requirements that are not met.")


class OnlyOne(AnswerPart):
    """A place that only one of the people present can fill."""

    place = text("Id of the place.")
    shift = text("The shift; null for the team.", nullable=True)
    person = text("Id of the person.")


class AfterLeaving(AnswerPart):
    """What the team would stand without those who leave."""

    filled = whole("Slots of places filled at the most.")
    together_filled = whole("Slots of needs of a group filled.")
    tolerance = part(Tolerance, "What absences the team would stand then.")
    critical_absences = texts("One smallest set of people whose absence would break something then.")
    pairs_breaking = part(PairsBreaking, "How many pairs of absences would.")
    triples_breaking = part(TriplesBreaking, "How many triples of absences would.")


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
    closest = parts(ClosestPerson, "Who lacks least for the slots that stay empty, all of them taken together.")
    only_one_can = parts(OnlyOne, "Places that only one of the people present can fill.")
    cannot_be_spared = texts("Everyone without whom one slot fewer can be filled.")
    tolerance = part(Tolerance, "What absences the team stands.")
    critical_absences = texts("One smallest set of people whose absence breaks something.")
    pairs_breaking = part(PairsBreaking, "How many pairs of absences break something.")
    triples_breaking = part(TriplesBreaking, "How many triples of absences break something.")
    leaving = texts("People taken as leaving because the question said so.")
    after_leaving = part(AfterLeaving, "The same without them; null when nobody was named.", nullable=True)
    remarks = texts("What else should be known.")
