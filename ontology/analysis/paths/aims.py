"""What a set of courses can be cheap in: hours, cost, number of courses, weeks; all as whole numbers. Pure.

Sums are exact: minutes, cents, and weeks as fractions that a problem brings to a common denominator. May import nothing
of ours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

__all__ = [
    "AIMS",
    "DEFAULT_PACE",
    "Aim",
    "Levels",
    "get_aim_order",
    "get_cents",
    "get_common_parts",
    "get_minutes",
    "get_pace",
    "get_week_fraction",
    "get_whole_cents",
    "get_whole_minutes",
    "read_decimal",
]

Aim = Literal["hours", "cost", "courses", "weeks"]
#: Whether a path leads to what a role asks in the end, or to what it asks on the first day.
Levels = Literal["full", "entry"]

AIMS: Final[tuple[Aim, ...]] = ("hours", "cost", "courses", "weeks")

#: Weeks settle no ties of the other aims: they hang on how fast one studies, the others only on the courses.
_AIM_ORDERS: Final[dict[str, tuple[Aim, ...]]] = {
    "hours": ("hours", "cost", "courses"),
    "cost": ("cost", "hours", "courses"),
    "courses": ("courses", "hours", "cost"),
    "weeks": ("weeks", "hours", "cost", "courses"),
}

#: Study hours a week of someone who has none to name: the default of the table of people.
DEFAULT_PACE: Final = 4.0

_MOST_PARTS: Final = 100_000
_FALLBACK_PARTS: Final = 10_080
"""Minutes of a week: so fine are weeks whose exact common denominator would be larger than the solver likes."""


def get_minutes(hours: float) -> int:
    """Return hours as whole minutes."""
    return round(hours * 60)


def get_whole_minutes(hours_limit: float) -> int | None:
    """Return the most whole minutes within a limit of hours; None where the limit is infinite."""
    if math.isinf(hours_limit):
        return None
    # the rounding keeps 0.1 h at 6 minutes although 0.1 * 60 may fall just below
    return math.floor(round(hours_limit * 60, 6))


def get_cents(cost: float) -> int:
    """Return money as whole hundredths."""
    return round(cost * 100)


def get_whole_cents(cost_limit: float) -> int | None:
    """Return the most whole hundredths within a limit of money; None where the limit is infinite."""
    if math.isinf(cost_limit):
        return None
    return math.floor(round(cost_limit * 100, 6))


def get_aim_order(minimise: Aim) -> tuple[Aim, ...]:
    """Return the aims in the order in which they matter: the one asked for first, then hours, cost, courses."""
    return _AIM_ORDERS[minimise]


@lru_cache(maxsize=4096)
@lru_cache(maxsize=4096)  # hours and weeks of courses are the same few numbers
def read_decimal(value: float) -> Fraction:
    """Return the fraction that the shortest decimal form of a number says: 0.1 is one tenth."""
    return Fraction(str(value))


def get_pace(study_hours_per_week: float) -> float:
    """Return the hours a week that weeks are counted with: the default where none are free for study."""
    return study_hours_per_week if study_hours_per_week > 0 else DEFAULT_PACE


def get_week_fraction(own_weeks: Fraction | None, minutes: int, pace: float) -> Fraction:
    """Return the weeks a course counts: its own; without them its minutes at `pace` hours a week.

    Examples
    --------
    >>> get_week_fraction(None, 90, 4.0), get_week_fraction(Fraction(2), 90, 4.0)
    (Fraction(3, 8), Fraction(2, 1))
    """
    return own_weeks if own_weeks is not None else Fraction(minutes, 60) / read_decimal(pace)


def get_common_parts(weeks: Iterable[Fraction]) -> int:
    """Return into how many parts a week is divided so that all of `weeks` are whole numbers of parts.

    The least common denominator; where that is unreasonably large a minute, and weeks are rounded to it.
    """
    parts = math.lcm(*(value.denominator for value in weeks))
    return parts if parts <= _MOST_PARTS else _FALLBACK_PARTS
