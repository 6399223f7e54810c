"""What every answer has to say about its own limits: one list per kind of answer. Imports nothing of ours."""

from __future__ import annotations

from typing import Final

_NO_SELECTION_TEST: Final = (
    "This shows where learning could start. It is not a test for selecting, promoting, paying or dismissing anyone: "
    "local employment law, works agreements and licensed practice decide."
)
_BASIS: Final = (
    "A level is only as good as the assessment behind it: look at its source, date and age. "
    "Not assessed means unknown, not unable; the first act is to assess."
)
_NO_ROSTER_LAW: Final = (
    "No roster law, rest time or works agreement is checked here; local codes and the employer's own rules come first."
)
_NO_AUTHORISATION: Final = (
    "A level in this graph is no authorisation to work. For work that can hurt someone, the employer's appointment "
    "of a competent person, valid licences and the local code decide."
)
_OFFER: Final = "This is an offer to learn, not a promise of a post, a place on a course or a date."
_ENTRIES: Final = (
    "Proved means cheapest among the courses and levels entered here; it says nothing about how well anyone learns."
)
_AT_LEAST: Final = (
    "Months are at least: study can wait or overlap, and growing into a role has to be confirmed by assessment."
)
_NO_REASON_TO_REFUSE: Final = (
    "That so much rests on one person is a fault of the organisation. It is no ground to refuse leave, "
    "a move or sick days, and no measure of the person."
)
_SIMILAR: Final = "Similar requirements do not make two roles equal in pay, risk or legal duties."
_FRAMEWORK: Final = (
    "This shows where to look, not what is wrong: an entry level, a licence or a check may stand as it is for reasons "
    "of safety or law."
)
_CONSENT: Final = (
    "Agree the plan with the people in it: workload, consent and equal access to learning are not computed here."
)
_RATE: Final = (
    "A chance of cover rests on one absence rate for a whole team, never a person's own, and takes absences as "
    "independent of each other: illness that spreads, strikes and storms are not."
)
_HEADCOUNT: Final = (
    "A headcount is a check of hours, no staffing plan: rest times, minimum crews and peaks of work come on top, "
    "and it is no ground to cut posts."
)
_LENDING: Final = (
    "Who stands in or is lent needs to agree, to be instructed on the spot and to be appointed by the employer; "
    "the team they come from must not fall short."
)
_DATES: Final = (
    "Days are worked out from hours a week and the weeks of a course; this books no place. Shifts, rest time, absences "
    "that are not recorded and the dates on which a course is held are not known here."
)
_OWN: Final = (
    "This belongs to the person who explores it: they alone decide whether and to whom it is shown, and nobody may "
    "draw conclusions from a role that someone looks at."
)

_ROTATION: Final = (
    "A rotation shown here is a draft to talk over, no roster: rest, working hours, fitness for the work, "
    "instruction at each workplace and the consent of the people in it are not computed here."
)
_BESIDE: Final = (
    "Learning beside someone makes nobody able: the level counts once it is assessed, and until then the holder "
    "answers for the work."
)
_PLANNED_DAY: Final = (
    "A day by which someone is to be trained is a plan in paid working time, 40 hours a week, around recorded "
    "absences: holidays and full courses are not counted. The level is there once it is assessed, not "
    "when the day has come."
)

GAP: Final = (_NO_SELECTION_TEST, _BASIS, _NO_AUTHORISATION)
LEARNING_PATH: Final = (_OFFER, _ENTRIES, _NO_SELECTION_TEST, _NO_AUTHORISATION)
SCHEDULE: Final = (_OFFER, _DATES, _ENTRIES, _NO_AUTHORISATION)
DEVELOPMENT_PLAN: Final = (_OWN, _OFFER, _DATES, _NO_SELECTION_TEST, _BASIS, _NO_AUTHORISATION)
ROUTES: Final = (_OFFER, _AT_LEAST, _ENTRIES, _NO_SELECTION_TEST)
REACHABLE_ROLES: Final = (_OFFER, _ENTRIES, _NO_SELECTION_TEST)
SIMILAR: Final = (_SIMILAR, _NO_SELECTION_TEST)
FRAMEWORK_REVIEW: Final = (_FRAMEWORK, _ENTRIES)
COVERAGE: Final = (_NO_ROSTER_LAW, _NO_AUTHORISATION, _BASIS)
SINGLE_POINTS: Final = (_NO_REASON_TO_REFUSE, _NO_ROSTER_LAW, _NO_AUTHORISATION)
STAFFING: Final = (_NO_REASON_TO_REFUSE, _NO_ROSTER_LAW, _NO_AUTHORISATION, _OFFER, _BASIS)
CROSS_TRAINING: Final = (_OFFER, _CONSENT, _ENTRIES, _NO_AUTHORISATION)
TRAINING_TIMETABLE: Final = (_PLANNED_DAY, _CONSENT, _NO_AUTHORISATION, _BASIS)
COVERAGE_TIMELINE: Final = (_NO_ROSTER_LAW, _NO_AUTHORISATION, _OFFER, _CONSENT, _BASIS)
STAND_INS: Final = (_LENDING, _NO_REASON_TO_REFUSE, _NO_ROSTER_LAW, _NO_AUTHORISATION, _BASIS)
FRAGILE_NEEDS: Final = (_RATE, _NO_REASON_TO_REFUSE, _OFFER, _NO_AUTHORISATION, _BASIS)
HEADCOUNT: Final = (_HEADCOUNT, _NO_ROSTER_LAW, _NO_AUTHORISATION)
COMPANY_COVER: Final = (_NO_REASON_TO_REFUSE, _LENDING, _RATE, _NO_ROSTER_LAW, _NO_AUTHORISATION, _BASIS)
ROTATION: Final = (_ROTATION, _BESIDE, _NO_ROSTER_LAW, _NO_AUTHORISATION, _CONSENT, _BASIS)
