"""How long an assessment counts: pure calendar arithmetic. Imports records.

Same-day rule: the n-th month on, same day, the last day of a shorter month. End-of-month rule: the last
day of the n-th calendar month after the month it was done (as 14 CFR 61.56(c) counts a flight review).
Both are inclusive: the last day still counts.
"""

from __future__ import annotations

import calendar
from dataclasses import replace
from datetime import date

from ontology.model.records import Assessment, Competency


def add_months(start: date, months: int) -> date:
    """Return the day `months` calendar months after `start`; the last day where the month is shorter.

    Raises
    ------
    OverflowError
        The result lies after the year 9999.

    Examples
    --------
    >>> add_months(date(2025, 1, 31), 1)
    datetime.date(2025, 2, 28)
    """
    index = start.year * 12 + start.month - 1 + months
    year, month = divmod(index, 12)
    if not 1 <= year <= 9999:
        raise OverflowError(f"{start} plus {months} months lies outside the calendar")
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(start.day, last))


def compute_valid_until(done: date, months: int | None, rule: str) -> date | None:
    """Return the last day on which an assessment of `done` counts, or None where it has no end.

    Examples
    --------
    >>> compute_valid_until(date(2024, 1, 15), 24, "end-of-month")
    datetime.date(2026, 1, 31)
    """
    if months is None:
        return None
    end = add_months(done, months)
    if rule == "end-of-month":
        end = end.replace(day=calendar.monthrange(end.year, end.month)[1])
    return end


def fill_valid_until(assessment: Assessment, competency: Competency | None) -> Assessment:
    """Return the assessment with its last valid day written in; a day that was given stays.

    The day is fixed when the record is made: a rule that changes later does not change it.
    """
    if assessment.valid_until is not None or competency is None:
        return assessment
    end = compute_valid_until(assessment.date, competency.validity_months, competency.validity_rule)
    return assessment if end is None else replace(assessment, valid_until=end)
