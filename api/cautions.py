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
_CONSENT: Final = (
    "Agree the plan with the people in it: workload, consent and equal access to learning are not computed here."
)

GAP: Final = (_NO_SELECTION_TEST, _BASIS, _NO_AUTHORISATION)
LEARNING_PATH: Final = (_OFFER, _ENTRIES, _NO_AUTHORISATION)
ROUTES: Final = (_OFFER, _AT_LEAST, _ENTRIES, _NO_SELECTION_TEST)
REACHABLE_ROLES: Final = (_OFFER, _ENTRIES, _NO_SELECTION_TEST)
SIMILAR: Final = (_SIMILAR, _NO_SELECTION_TEST)
COVERAGE: Final = (_NO_ROSTER_LAW, _NO_AUTHORISATION, _BASIS)
SINGLE_POINTS: Final = (_NO_REASON_TO_REFUSE, _NO_ROSTER_LAW, _NO_AUTHORISATION)
STAFFING: Final = (_NO_ROSTER_LAW, _NO_AUTHORISATION, _BASIS)
CROSS_TRAINING: Final = (_OFFER, _CONSENT, _ENTRIES, _NO_AUTHORISATION)
