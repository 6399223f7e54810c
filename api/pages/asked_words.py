"""What a question's parameters are called in a form: plain words where the name in the address is not plain."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["tell_about", "tell_choice", "tell_label"]

_LABELS: Final = {
    "alternatives": "Other sets of courses",
    "at_once": "Courses at once",
    "avoid": "Not by way of",
    "away": "Supposed away",
    "by": "Done by",
    "double": "Assessed by two",
    "due": "Dates as",
    "exclude": "Without these courses",
    "exclude_courses": "Without these courses",
    "exclude_people": "Without these people",
    "fair": "Share the load",
    "fewest": "Competencies at least",
    "holes": "What to close",
    "hours_limit": "Study of one person at most",
    "hours_per_week": "Hours a week at most",
    "include": "With these courses",
    "interval_weeks": "Length of an interval",
    "intervals": "Number of intervals",
    "known_on": "Known by",
    "least": "Least score",
    "least_people": "Fewest people",
    "leaving": "And without these people",
    "lending_teams": "Coaches also from",
    "level_limit": "Levels up at most",
    "levels": "Levels to reach",
    "limit": "Show at most",
    "manned_hours": "Staffed hours a year",
    "match": "Counts as the same",
    "max_cost": "Cost at most",
    "max_hours": "Study at most",
    "max_moves": "Moves at most",
    "maximum_stay": "Longest stay",
    "minimise": "Least of",
    "minimum_stay": "Shortest stay",
    "most": "Competencies at most",
    "older_than_months": "Older than",
    "order_by": "First in the order",
    "page_size": "Rows on a page",
    "parts": "With the teams below it",
    "practice": "Intervals of practice",
    "preparation_limit": "Study before one move at most",
    "q": "Name",
    "renewals": "Count on renewals",
    "start": "Begin on",
    "study_hours_per_week": "Study hours a week",
    "text": "Name",
    "time_limit": "Time to compute",
    "tolerance": "Absences to survive",
    "via": "By way of",
    "weigh_criticality": "Weigh the criticality",
    "with_coach": "Only with a coach",
    "with_routes": "Look for routes too",
    "within_hours": "Within hours of study",
}
#: Parameter and choice -> the choice in words; any other is its own word.
_CHOICES: Final = {
    ("holes", "all"): "needs and places",
    ("levels", "entry"): "those of the first day",
    ("levels", "full"): "the full ones",
    ("match", "ids"): "the same id",
    ("match", "known"): "the same id, or known to be the same",
    ("match", "suggested"): "also what is probably the same",
    ("show", "all"): "needs and jobs",
}
_NAME: Final = re.compile(r"`(\w+)`")


def tell_label(name: str) -> str:
    """Return the words beside the field of a parameter.

    Examples
    --------
    >>> tell_label("manned_hours"), tell_label("absence_rate")
    ('Staffed hours a year', 'Absence rate')
    """
    return _LABELS.get(name) or name.replace("_", " ").capitalize()


def tell_choice(name: str, word: str) -> str:
    """Return a choice of a parameter in words.

    Examples
    --------
    >>> tell_choice("levels", "entry"), tell_choice("due", "month-end")
    ('those of the first day', 'month end')
    """
    return _CHOICES.get((name, word)) or word.replace("-", " ")


def tell_about(about: str) -> str:
    """Return the sentence on a parameter with other parameters by their labels.

    Examples
    --------
    >>> tell_about("Last day of the period, instead of `intervals`.")
    'Last day of the period, instead of “Number of intervals”.'
    """
    return _NAME.sub(lambda match: f"“{tell_label(match[1])}”", about)
