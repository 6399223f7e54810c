"""What answers have to say about their own limits: the sentences that several share."""

from __future__ import annotations

from typing import Final

NO_SELECTION_TEST: Final = (
    "This shows where learning could start. It is not a test for selecting, promoting, paying or dismissing anyone: "
    "local employment law, works agreements and licensed practice decide."
)
BASIS: Final = (
    "A level is only as good as the assessment behind it: look at its source, date and age. "
    "Not assessed means unknown, not unable; the first act is to assess."
)
NO_ROSTER_LAW: Final = (
    "No roster law, rest time or works agreement is checked here; local codes and the employer's own rules come first."
)
NO_AUTHORISATION: Final = (
    "A level in this graph is no authorisation to work. For work that can hurt someone, the employer's appointment "
    "of a competent person, valid licences and the local code decide."
)
OFFER: Final = "This is an offer to learn, not a promise of a post, a place on a course or a date."
OWN_LIST: Final = (
    "The list of obligations is the employer's own: whether it is complete and right is not checked here, and this is "
    "no legal advice. Laws, permits and those licensed to advise on them decide."
)
RECORDS: Final = (
    "This tells what is recorded here; the records themselves prove it. A correction is a withdrawal and a new record, "
    "never an edit."
)
NOT_CLEARED: Final = "Who is not cleared for a work must not start it, whatever else is current here."
NO_RANKING: Final = (
    "This is no ranking of people or teams by lateness and no ground for a sanction: who is late may never have been "
    "sent."
)
#: What every list of what single people must hold says.
OF_DUES: Final = (NOT_CLEARED, OWN_LIST, NO_RANKING, NO_AUTHORISATION, BASIS)
ENTRIES: Final = (
    "Proved means cheapest among the courses and levels entered here; it says nothing about how well anyone learns."
)
NO_REASON_TO_REFUSE: Final = (
    "That so much rests on one person is a fault of the organisation. It is no ground to refuse leave, "
    "a move or sick days, and no measure of the person."
)
#: What every answer about places of a team and who fills them says.
OF_PLACES: Final = (NO_REASON_TO_REFUSE, NO_ROSTER_LAW, NO_AUTHORISATION, OFFER, BASIS)
CONSENT: Final = (
    "Agree the plan with the people in it: workload, consent and equal access to learning are not computed here."
)
#: What every answer about who can do which work on a day says.
OF_WORK: Final = (NO_ROSTER_LAW, NO_AUTHORISATION, BASIS)
RATE: Final = (
    "A chance of cover rests on one absence rate for a whole team, never a person's own, and takes absences as "
    "independent of each other: illness that spreads, strikes and storms are not."
)
LENDING: Final = (
    "Who stands in or is lent needs to agree, to be instructed on the spot and to be appointed by the employer; "
    "the team they come from must not fall short."
)
DATES: Final = (
    "Days are worked out from hours a week and the weeks of a course; this books no place. Shifts, rest time, absences "
    "that are not recorded and the dates on which a course is held are not known here."
)
#: What every plan with dates for one person says.
OF_DATED_PLANS: Final = (OFFER, DATES, NO_SELECTION_TEST, BASIS, NO_AUTHORISATION)
BOOKS_NOTHING: Final = (
    "This is a proposal: it books no seat and checks no roster law. Seats go by due day, cover and order of asking and "
    "by nothing else; agree it with the people."
)
NO_GRADE: Final = (
    "This is what the company prepares for a newcomer, and what of it is done. It is no grade of anyone, and an open "
    "item is a task of who sees to it."
)
BEFORE_WORK: Final = (
    "Who has not been instructed must not start, whatever else is done here: the employer and the local code decide "
    "what comes before work."
)
NO_MARK: Final = (
    "A session that was missed is no mark against anyone: why someone was not there is not asked here, and must not be "
    "used against them."
)
BY_DUE: Final = (
    "A seat goes by the day on which something must be held and by who asked first, never by who somebody is; nobody "
    "is booked above the seats."
)
ROOMS_ONLY: Final = (
    "This is a plan of rooms: it books nobody, checks no roster law, and shares of the past say nothing of anyone who "
    "comes next."
)
AGREEMENT: Final = (
    "Agreement is not truth: two can be wrong alike. What is asked is whether both saw the same, not who was right."
)
NO_SEVERITY: Final = (
    "No figure here is about one assessor, and none is to be made of it: who rated whom is not told, and ratings that "
    "differ are a reason to watch together, no fault of anyone."
)
AGREE_ROUND: Final = (
    "Agree the round with those in it: who assesses needs the time and has to be free to decline, and nobody should be "
    "assessed by someone with an interest in the outcome, which is not known here."
)
