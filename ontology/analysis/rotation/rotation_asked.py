"""What a rotation is asked for, and the intervals of its period. Pure; may import rotation_problem and errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ontology.analysis.rotation.rotation_problem import Purpose
from ontology.errors import InputError

__all__ = ["RotationAsked", "get_dates", "require_consistent"]

_DEFAULT_INTERVALS: Final = 6
_MOST_INTERVALS: Final = 60


@dataclass(frozen=True)
class RotationAsked:
    """What a rotation is asked for.

    Attributes
    ----------
    purpose : {"learn", "keep-current", "relieve-strain"}
    on : date
        The day asked about, for the record.
    start : date
        First day of the first interval.
    until : date or None
        Last day, which may cut the last interval; None where `intervals` counts.
    intervals : int or None
        How many; None means 6, or as many as reach `until`.
    interval_weeks : int
    minimum_stay : int
    maximum_stay : int or None
        Intervals; None for no limit.
    practice : int or None
        Intervals that each learner stands beside a holder, or that everyone able holds a place of each role they can
        do; None means 1.
    people, places : frozenset of str
        Who takes part, and which places; empty for all members, all places.
    learners : frozenset of (str, str or None)
        Who learns, and which place (None: the one they lack least for); empty for everyone not able for any place.
    away : frozenset of str
        Who is not there in the whole period.
    has_renewals : bool
        Whether what someone is able to do on the first day of the period is taken as renewed in time.
    """

    purpose: Purpose
    on: date
    start: date
    until: date | None = None
    intervals: int | None = None
    interval_weeks: int = 4
    minimum_stay: int = 1
    maximum_stay: int | None = None
    practice: int | None = None
    people: frozenset[str] = frozenset()
    places: frozenset[str] = frozenset()
    learners: frozenset[tuple[str, str | None]] = frozenset()
    away: frozenset[str] = frozenset()
    has_renewals: bool = False


def get_dates(asked: RotationAsked) -> tuple[tuple[date, date], ...]:
    """Return first and last day of every interval, in order.

    Raises
    ------
    InputError
        The period is given twice, ends before it starts, is too long or goes beyond the calendar.
    """
    days = 7 * asked.interval_weeks
    if asked.until is not None and asked.intervals is not None:
        raise InputError("Say either how many intervals or until when, not both.", parameter="until", value=asked.until)
    count = _DEFAULT_INTERVALS if asked.intervals is None else asked.intervals
    if asked.until is not None:
        if asked.until < asked.start:
            raise InputError(
                f"The period ends on {asked.until}, before it starts on {asked.start}.",
                parameter="until",
                value=asked.until,
            )
        count = math.ceil(((asked.until - asked.start).days + 1) / days)
    if not 1 <= count <= _MOST_INTERVALS:
        raise InputError(
            f"{count} intervals are not between 1 and {_MOST_INTERVALS}.",
            parameter="intervals" if asked.until is None else "until",
        )
    last = asked.until or date.max
    if (date.max - asked.start).days < count * days:
        raise InputError(
            f"The period that starts on {asked.start} goes beyond the calendar.",
            parameter="from",
            value=asked.start,
        )
    starts = [asked.start + timedelta(days=days * t) for t in range(count)]
    return tuple((first, min(last, first + timedelta(days=days - 1))) for first in starts)


def require_consistent(asked: RotationAsked, intervals: int) -> None:
    """Raise InputError when stays do not fit, or learners or practice are named for a purpose without them."""
    least, most = asked.minimum_stay, asked.maximum_stay
    if least > intervals:
        raise InputError(
            f"A stay of at least {least} intervals does not fit into {intervals}.",
            parameter="minimum_stay",
            value=least,
        )
    if most is not None and most < least:
        raise InputError(
            f"The maximum stay of {most} intervals is below the minimum of {least}.",
            parameter="maximum_stay",
            value=most,
        )
    if asked.learners and asked.purpose != "learn":
        raise InputError(f"Learners are named, but the purpose is {asked.purpose}.", parameter="learners")
    if asked.practice is not None and asked.purpose == "relieve-strain":
        raise InputError(
            "Practice is asked for, but the purpose is relieve-strain.", parameter="practice", value=asked.practice
        )
