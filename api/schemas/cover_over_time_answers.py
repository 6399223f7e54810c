"""Answers about cover over time, stand-ins, fragile needs and headcount, as the OpenAPI document describes them."""

from __future__ import annotations

from api.schemas.shown import AnswerPart, date, flag, number, part, parts, text, texts, whole
from api.schemas.team_answers import AnswerAboutTeam, FallenNeed, TogetherNeed

STATES = ("short", "sole-holder", "no-reserve", "below-target", "covered")
SLOT_STATES = ("filled", "unfilled")
KINDS = ("need", "place", "together")
STATUSES = ("optimal", "feasible")
ABOUT_STATUS = "optimal: every learning path is proved; feasible: the time limit struck, better ones may be found."
_CAUSES = ("joins", "leaves", "absence-begins", "absence-ends", "lapses", "assessed")


class CoverCause(AnswerPart):
    """What happened to whom."""

    person = text("Id of the person.")
    what = text("What happened.", choices=_CAUSES)
    words = text("The same as a sentence.")
    source = text("Who assessed the level in question; null for contracts and absences.", nullable=True)
    assessed_on = date("The day of that assessment.", nullable=True)


class CoverInterval(AnswerPart):
    """Days on which the same people count."""

    from_date = date("The first day.")
    to_date = date("The last day.")
    depth = whole("Members present at or above the level.")
    state = text("How it stands: the first that holds.", choices=STATES)
    qualified = texts("Ids of those at or above the level, absent ones included.")
    present = texts("Those of them who are there.")
    causes = parts(CoverCause, "What the first day brought; none on the first day told.")


class MendedLevel(AnswerPart):
    """A level that is reached or renewed."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    have = whole("Level on the day asked about; null where never assessed: assess first.", nullable=True)
    source = text("Who assessed it.", nullable=True)
    assessed_on = date("The day it was assessed.", nullable=True)


class CoverMend(AnswerPart):
    """What one person could do to close a hole."""

    person = text("Id of the person.")
    kind = text("Whether levels are renewed, all of them, or learned.", choices=("renewal", "learning"))
    have = whole("Level of the first on the day asked about; null where never assessed: assess first.", nullable=True)
    source = text("Who assessed it.", nullable=True)
    assessed_on = date("The day it was assessed.", nullable=True)
    levels = parts(MendedLevel, "All that is reached or renewed: one for a need, what a place takes.")
    courses = texts("The courses, in order.")
    study_hours = number("Hours of the learner.")
    weeks = number("Weeks the courses take: their own, or their hours at 40 a week.")
    lead_weeks = number("Weeks of waiting for them from the day of asking.")
    due = date("The day by which it must be done.")
    last_day_to_act = date("The last day to begin.")
    is_late = flag("Whether that day has passed on the day asked about.")
    ready_on = date("The day it is done when begun on the day asked about, or on the person's first day if later.")
    is_there_throughout = flag("Whether the person is there on every day of the hole that is left.")


class CoverHole(AnswerPart):
    """Days on which a need, a place or a group lacks one person more."""

    from_date = date("The first day; before the days told where it had begun by then.")
    to_date = date("The last day.")
    is_begin_known = flag("no: it was open as far back as records tell, the first day told stands for that.")
    is_open = flag("Whether it is still open on the last day told.")
    lacking = whole("1 for the first person missing, 2 for a second at the same time, and so on.")
    causes = parts(CoverCause, "What opened it; none where that is not known.")
    last_day_to_act = date("The last day to begin to close it; null where nobody could.", nullable=True)
    is_late = flag("Whether that day has passed, or nobody could close it.")
    mend = part(CoverMend, "Who could close it, and how.", nullable=True)
    reason = text("Why nobody could.", nullable=True)


class NeedTimeline(AnswerPart):
    """One cover need where it counts."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("Where it counts; null for the team.", nullable=True)
    minimum = whole("People present at the least.")
    target = whole("People qualified.")
    criticality = whole("1..5; 5 = life, law or supply within hours.")
    intervals = parts(CoverInterval, "Every day told is in one of them, in order.")
    holes = parts(CoverHole, "When it is short, by first day.")


class SlotInterval(AnswerPart):
    """Days on which as many slots are filled and the same people are able."""

    from_date = date("The first day.")
    to_date = date("The last day.")
    filled = whole("Slots that staffing fills, all of the team taken together.")
    state = text("Whether these are all.", choices=SLOT_STATES)
    able = texts("Ids of those who are there and could fill one.")
    causes = parts(CoverCause, "What the first day brought; none on the first day told.")


class SlotTimeline(AnswerPart):
    """The slots of one place, or of one need of a group where it counts."""

    kind = text("What it is.", choices=("place", "together"))
    place = text("Id of a place.", nullable=True)
    role = text("Role of a place.", nullable=True)
    competency = text("Of a group's need.", nullable=True)
    level = whole("Of a group's need.", nullable=True)
    applies = text("Of a group's need: team, each-shift, or the id of one shift.", nullable=True)
    together = text("The group.", nullable=True)
    shift = text("Where it counts; null for the team.", nullable=True)
    criticality = whole("Of a group's need, 1..5.", nullable=True)
    slots = whole("People at once.")
    intervals = parts(SlotInterval, "Every day told is in one of them, in order.")
    holes = parts(CoverHole, "When a slot is unfilled, by first day.")


class CoverChange(AnswerPart):
    """A need whose state changes, or a place or group of which more or fewer slots are filled."""

    on = date("The day.")
    kind = text("What changes.", choices=KINDS)
    place = text("Id of a place.", nullable=True)
    competency = text("Id of the competency; null for a place.", nullable=True)
    level = whole("The level needed; null for a place.", nullable=True)
    applies = text("team, each-shift, or the id of one shift; null for a place.", nullable=True)
    together = text("The group of a slot.", nullable=True)
    shift = text("Where it counts; null for the team.", nullable=True)
    criticality = whole("1..5; null for a place.", nullable=True)
    from_state = text("Before.", choices=STATES + SLOT_STATES)
    to_state = text("From this day.", choices=STATES + SLOT_STATES)
    from_depth = whole("Depth, or slots filled, before.")
    to_depth = whole("Depth, or slots filled, from this day.")
    causes = parts(CoverCause, "What happened.")


class CoverAct(AnswerPart):
    """What to begin, by when."""

    last_day_to_act = date("The last day to begin.")
    is_late = flag("Whether it has passed.")
    due = date("The day by which it must be done.")
    person = text("Who.")
    courses = texts("By which courses, in order.")
    kind = text("For what.", choices=KINDS)
    place = text("Id of a place.", nullable=True)
    competency = text("Id of the competency; null for a place.", nullable=True)
    level = whole("The level needed; null for a place.", nullable=True)
    applies = text("team, each-shift, or the id of one shift; null for a place.", nullable=True)
    together = text("The group of a slot.", nullable=True)
    shift = text("Where it counts; null for the team.", nullable=True)
    criticality = whole("1..5; null for a place.", nullable=True)


class CoverageTimeline(AnswerAboutTeam):
    """How a team's cover changes."""

    from_date = date("The first day told.")
    to_date = date("The last day told.")
    status = text(ABOUT_STATUS, choices=STATUSES)
    needs = parts(NeedTimeline, "Every need where it counts.")
    slots = parts(SlotTimeline, "Every place, and every need of a group where it counts.")
    changes = parts(CoverChange, "Every change, by day.")
    acts = parts(CoverAct, "What closes the holes, by the last day to begin.")
    remarks = texts("What else should be known.")


class LevelBasis(AnswerPart):
    """A level that counts and what it rests on."""

    competency = text("Id of the competency.")
    have = whole("The level.")
    state = text("Whether a review is due.", choices=("ok", "review-due"))
    source = text("Who assessed it.")
    assessed_on = date("The day it was assessed.")
    valid_until = date("The last day it counts; null where it has no end.", nullable=True)


class StandIn(AnswerPart):
    """Someone who qualifies and is there."""

    person = text("Id of the person.")
    team = text("Their team.")
    shift = text("Their shift.", nullable=True)
    is_own_team = flag("Whether it is the team asked about.")
    is_other_shift = flag("Whether they are of the same team and another shift.")
    counts_already = flag("Whether they are in the depth already: then nobody is added.")
    is_same_slot = flag("Whether staffing has them on a slot of the same place or group already.")
    levels = parts(LevelBasis, "What they hold of what is asked.")
    leaves_needs = parts(FallenNeed, "Needs of their own team, in every shift, that hold and would be short.")
    leaves_places = texts("Places there, once for every slot, that are filled and would be empty.")
    leaves_together = parts(TogetherNeed, "Slots of groups there that are filled and would be empty.")


class TeamLending(AnswerPart):
    """Another team that could lend people who qualify."""

    team = text("Id of the team.")
    qualified = whole("How many there qualify and are there.")
    could_be_lent = texts("The most of them who could leave at once so that nothing breaks that holds there.")


class NeedStandIns(AnswerPart):
    """A need and who could stand in."""

    competency = text("Id of the competency.")
    level = whole("The level needed.")
    applies = text("team, each-shift, or the id of one shift.")
    shift = text("Where it counts; null for the team.", nullable=True)
    minimum = whole("People present at the least.")
    depth = whole("Members present at or above the level.")
    state = text("How it stands.", choices=STATES)
    depth_without = whole("The depth without the person asked about.")
    is_short_without = flag("Whether it is short without them.")
    found = whole("How many could stand in.")
    stand_ins = parts(StandIn, "The first of them: own team first, then by team and id; no ranking.")
    lending = parts(TeamLending, "What other teams could lend, by id.")


class PlaceStandIns(AnswerPart):
    """A place and who could stand in."""

    place = text("Id of the place.")
    role = text("Id of the role.")
    shift = text("Its shift; null for the team.", nullable=True)
    count = whole("People at once.")
    is_empty_without = flag("Whether one slot more stays empty without the person asked about.")
    found = whole("How many could stand in.")
    stand_ins = parts(StandIn, "The first of them: own team first, then by team and id; no ranking.")
    lending = parts(TeamLending, "What other teams could lend, by id.")


class StandIns(AnswerAboutTeam):
    """Who can stand in."""

    person = text("For whom; null where a need was asked about.", nullable=True)
    competency = text("For which need; null where a person was asked about.", nullable=True)
    level = whole("Only at this level.", nullable=True)
    needs = parts(NeedStandIns, "The needs.")
    places = parts(PlaceStandIns, "The places the person is able to fill.")
    remarks = texts("What else should be known.")


class NextBest(AnswerPart):
    """Who could come to count with the least hours of learning."""

    person = text("Id of the person.")
    have = whole("Level held; null where never assessed: assess first.", nullable=True)
    source = text("Who assessed it.", nullable=True)
    assessed_on = date("The day it was assessed.", nullable=True)
    study_hours = number("Hours of the learning path.")
    status = text("optimal: proved; feasible: the best found when the time limit struck.")
    courses = texts("The courses, in order.")


class FragileNeed(AnswerPart):
    """A need and how fragile it is."""

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
    next_best = part(NextBest, "One person more.", nullable=True)
    reason = text("Why there is none.", nullable=True)


class FragileNeeds(AnswerAboutTeam):
    """Needs in the order of how fragile they are."""

    absence_rate = number("One rate for the team; null where there is none.", nullable=True)
    order_by = text("What comes first.", choices=("criticality", "chance", "distance"))
    order_rule = text("The order in words.")
    status = text(ABOUT_STATUS, choices=STATUSES)
    needs = parts(FragileNeed, "The most fragile first.")
    remarks = texts("What else should be known.")


class HeadcountRow(AnswerPart):
    """People needed for a need or a place."""

    kind = text("What it is.", choices=("need", "place"))
    competency = text("Of a need.", nullable=True)
    level = whole("Of a need.", nullable=True)
    applies = text("Of a need: team, each-shift, or the id of one shift.", nullable=True)
    place = text("Id of a place.", nullable=True)
    role = text("Role of a place.", nullable=True)
    shift = text("Where it counts; null for the team.", nullable=True)
    minimum = whole("People at once.")
    manned_hours = number("Hours a year it must be covered or filled; null where not known.", nullable=True)
    relief_factor = number("People for one post: those hours divided by the net hours of a person.", nullable=True)
    quotient = number("Minimum times that, as it comes out.", nullable=True)
    people_needed = whole("The next whole number.", nullable=True)
    qualified = texts("Members qualified or able on the day, absent ones included.")
    difference = whole("Qualified less needed; below 0 so many are missing.", nullable=True)


class Headcount(AnswerAboutTeam):
    """The headcount check of a team."""

    net_hours = number("Hours a year one person works.")
    manned_hours = number("Hours a year where none are told, as asked.", nullable=True)
    shifts = text("How the shifts of the team work.", choices=("in-turn", "side-by-side"))
    rows = parts(HeadcountRow, "Needs, then places.")
    remarks = texts("What else should be known.")
