"""The answer about the cover of all teams as the OpenAPI document describes it. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.cover_over_time_answers import ABOUT_STATUS, STATES, STATUSES, LevelBasis
from api.schemas.shown import Answer, AnswerPart, date, flag, number, part, parts, text, texts, whole
from api.schemas.team_answers import FallenNeed


class StateCount(AnswerPart):
    """How many needs stand so."""

    state = text("How they stand.", choices=STATES)
    needs = whole("Needs, each once for every shift it counts in.")


class LendingPerson(AnswerPart):
    """Someone elsewhere who qualifies."""

    person = text("Id of the person.")
    is_spare = flag("Whether they are one of those who could be lent at once.")
    basis = part(LevelBasis, "What the level rests on.", nullable=True)


class NearPerson(AnswerPart):
    """Someone elsewhere who is within the hours asked about."""

    person = text("Id of the person.")
    have = whole("The level held.")
    source = text("Who assessed it.", nullable=True)
    assessed_on = date("The day it was assessed.", nullable=True)
    study_hours = number("Hours of the learning path.")
    courses = texts("The courses, in order.")


class Lender(AnswerPart):
    """A team that could lend."""

    team = text("Id of the team.")
    qualified = whole("How many there qualify.")
    spare = whole("How many of them could be lent at once: nothing that holds there breaks, one more breaks something.")
    near = whole("How many more are within the hours asked about.")
    worsens = parts(FallenNeed, "Needs there that are short already and would have fewer still.")
    people = parts(LendingPerson, "All who could be lent and some others who qualify, by id.")
    near_people = parts(NearPerson, "Some who are near, by id.")


class CompanyNeed(AnswerPart):
    """A fragile need of a team."""

    team = text("Id of the team.")
    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("Where it counts; null for the team.", nullable=True)
    criticality = whole("1..5; 5 = life, law or supply within hours.")
    minimum = whole("People present at the least.")
    target = whole("People qualified.")
    depth = whole("Members present at or above the level.")
    state = text("How it stands.", choices=STATES)
    chance = number("Chance 0..1 that the minimum of them is there; null without an absence rate.", nullable=True)
    lenders_found = whole("How many teams could lend.")
    lenders = parts(Lender, "The first of them: more who could be lent, who qualify, who are near; then by id.")


class HeldNeed(AnswerPart):
    """A need that hangs on one person."""

    team = text("Whose need.")
    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("Where it counts; null for the team.", nullable=True)
    as_member = flag("yes: it is short without them; no: they are the only one elsewhere who could stand in.")
    basis = part(LevelBasis, "What the level rests on.", nullable=True)


class HoldingPerson(AnswerPart):
    """Someone on whom needs of at least two teams hang."""

    id = text("Id of the person.")
    team = text("Their team.")
    teams = texts("Teams whose needs hang on them.")
    holds = parts(HeldNeed, "These needs.")


class LentNeed(AnswerPart):
    """A need that is lent for."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    shift = text("Where it counts; null for the team.", nullable=True)


class Exchange(AnswerPart):
    """Two teams that could lend to each other."""

    team = text("Id of the one.")
    other = text("Id of the other.")
    team_lends = parts(LentNeed, "Needs of the other for which the one could lend someone.")
    other_lends = parts(LentNeed, "Needs of the one for which the other could lend someone.")


class CompanyCover(Answer):
    """The cover of all teams."""

    on = date("The day asked about.")
    away = texts("People taken as absent because the question said so.")
    absence_rate = number("One rate for all teams, as asked; null: each team's own.", nullable=True)
    within_hours = number("As asked.")
    status = text(ABOUT_STATUS, choices=STATUSES)
    teams = whole("Teams.")
    people = whole("People employed on the day.")
    needs_found = whole("Needs, each once for every shift it counts in.")
    states = parts(StateCount, "How they stand.")
    order_rule = text("The order of needs in words.")
    needs = parts(CompanyNeed, "The most fragile first.")
    holding_found = whole("People on whom needs of at least two teams hang.")
    holding = parts(HoldingPerson, "The first of them, by id.")
    exchanges = parts(Exchange, "Pairs of teams that could lend to each other, among the needs told.")
    remarks = texts("What else should be known.")
