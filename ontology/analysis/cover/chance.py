"""The chance that a cover need is met when people are absent at random. Pure; imports errors only.

Each member is absent independently of the others. The rate is one of the team; never a person's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ontology.errors import InputError

__all__ = ["compute_chance_of_cover", "compute_chance_of_cover_at_rates"]


def compute_chance_of_cover(n: int, minimum: int, absence_rate: float) -> float:
    """Return the chance that at least `minimum` of `n` qualified people are present.

    Parameters
    ----------
    n : int
        Qualified people, >= 0.
    minimum : int
        People needed, >= 0.
    absence_rate : float
        Chance of each to be absent, 0..1.

    Returns
    -------
    float
        P(at least `minimum` present), 0..1.

    Raises
    ------
    InputError
        A count below 0, or a rate outside 0..1.

    Notes
    -----
    The reliability of a k-out-of-n system; O(n^2) time.

    References
    ----------
    .. [1] MIL-HDBK-338B, Electronic Reliability Design Handbook: k of n redundancy.

    Examples
    --------
    >>> round(compute_chance_of_cover(3, 2, 0.1), 6)
    0.972
    """
    _require_counts(n, minimum)
    _require_rate(absence_rate)
    return compute_chance_of_cover_at_rates([absence_rate] * n, minimum)


def compute_chance_of_cover_at_rates(absence_rates: Sequence[float], minimum: int) -> float:
    """Return the chance that at least `minimum` people are present when groups have different rates.

    Parameters
    ----------
    absence_rates : sequence of float, length n
        One rate for each qualified person, 0..1: that of the team or site the person counts for, never their own.
    minimum : int
        People needed, >= 0.

    Returns
    -------
    float
        P(at least `minimum` present), 0..1.

    Raises
    ------
    InputError
        A count below 0, or a rate outside 0..1.

    Notes
    -----
    Poisson-binomial distribution by adding one person at a time: O(n^2) time, O(n) memory, no cancellation.

    Examples
    --------
    >>> round(compute_chance_of_cover_at_rates([0.1, 0.1, 0.1], 2), 6)
    0.972
    """
    _require_counts(len(absence_rates), minimum)
    if not minimum:
        return 1.0
    chances = [1.0]
    for rate in absence_rates:
        _require_rate(rate)
        shifted = [0.0, *chances]
        chances = [there * (1.0 - rate) + gone * rate for there, gone in zip(shifted, [*chances, 0.0], strict=True)]
    return min(1.0, math.fsum(chances[minimum:]))


def _require_counts(n: int, minimum: int) -> None:
    if n < 0 or minimum < 0:
        raise InputError("counts of people must be at least 0", n=n, minimum=minimum)


def _require_rate(rate: float) -> None:
    if not 0.0 <= rate <= 1.0:
        raise InputError("an absence rate must lie between 0 and 1", absence_rate=rate)
