"""By which day something must be held that is not, or will not be, and how it stands on a day. Pure.

Bad days are those on which something must be held and is not met. Due is the last valid day before them, or, for who
had it not to hold the day before, the first of them: the two are never mixed.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

from ontology.analysis.obligations.spans import BEFORE, LAST, Spans, find_span, subtract

__all__ = ["STATES", "Due", "DueState", "find_due"]

DueState = Literal["overdue", "within-30", "within-60", "within-90", "current", "later"]

STATES: Final[tuple[DueState, ...]] = ("overdue", "within-30", "within-60", "within-90", "current", "later")


class Due(NamedTuple):
    """How one thing that must be held stands on a day.

    Days are ordinals. `first_bad` is the first of the run of bad days that holds the day asked about, else the first
    bad one after it: None without any, `BEFORE` where the run has no first day. `is_lapse`: the day before had to be
    held, and was met. `day` is the day it is due; None also where the run has no first day.
    """

    state: DueState
    day: int | None
    first_bad: int | None
    is_lapse: bool
    is_bad: bool
    is_met: bool


def find_due(must: Spans, met: Spans, absent: Spans, on: int) -> Due:
    """Return how something stands on a day.

    Parameters
    ----------
    must, met, absent : Spans
        The days on which it must be held, on which it is met, and on which the person is away: a due day on which they
        are away moves to the first day back.
    on : int
        The day asked about.

    Notes
    -----
    O(spans).
    """
    is_met = find_span(met, on) is not None
    first = day = None
    for start, last in subtract(must, met) if met else must:
        if last >= on:
            first = start
            break
    if first is None:
        return Due("current", None, None, False, False, is_met)
    is_lapse = False
    if first > BEFORE:
        is_lapse = find_span(must, first - 1) is not None
        day = first - 1 if is_lapse else first
        away = find_span(absent, day)
        if away:
            day = min(away[1] + 1, LAST)
    is_bad = first <= on
    return Due(_find_state(is_bad, is_met, day, on), day, first, is_lapse, is_bad, is_met)


def _find_state(is_bad: bool, is_met: bool, day: int | None, on: int) -> DueState:
    if day is None or (is_bad and day < on):
        return "overdue"
    left = day - on
    if left <= 90:
        return "within-30" if left <= 30 else "within-60" if left <= 60 else "within-90"
    return "current" if is_met else "later"
