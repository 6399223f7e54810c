"""Calendar time of study at so many hours a week. Pure; imports nothing of ours."""

from __future__ import annotations

from fractions import Fraction

__all__ = ["compute_months"]


def compute_months(study_minutes: int, study_hours_per_week: float) -> float | None:
    """Return the months that study takes at so many hours a week, 52/12 weeks a month.

    None where there is something to study and no time for it.

    Examples
    --------
    >>> compute_months(52 * 60, 4.0)
    3.0
    """
    if not study_minutes:
        return 0.0
    if study_hours_per_week <= 0:
        return None
    return float(Fraction(study_minutes, 60) / Fraction(study_hours_per_week) * Fraction(12, 52))
