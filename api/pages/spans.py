"""How long ago, and how long until, as one says it."""

from __future__ import annotations

__all__ = ["tell_age", "tell_ahead"]

_DAYS_A_MONTH, _DAYS_A_YEAR = 30.44, 365.25
_LAST_IN_DAYS, _LAST_IN_MONTHS = 60, 36


def tell_age(days: int) -> str:
    """Return how long ago something was.

    Examples
    --------
    >>> [tell_age(days) for days in (0, 1, 45, 260, 404, 1500)]
    ['today', 'yesterday', '45 days ago', '9 months ago', '13 months ago', '4 years ago']
    """
    if days <= _LAST_IN_DAYS:
        return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
    months = round(days / _DAYS_A_MONTH)
    return f"{months} months ago" if months <= _LAST_IN_MONTHS else f"{round(days / _DAYS_A_YEAR)} years ago"


def tell_ahead(days: int) -> str:
    """Return how long it is until a day, or how long ago it was.

    Examples
    --------
    >>> [tell_ahead(days) for days in (0, 1, 292, -1, -19)]
    ['today', 'tomorrow', 'in 292 days', 'yesterday', '19 days ago']
    """
    if days < 0:
        return "yesterday" if days == -1 else f"{-days:,} days ago"
    return {0: "today", 1: "tomorrow"}.get(days, f"in {days:,} days")
