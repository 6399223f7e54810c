"""How long an assessment counts: pure calendar arithmetic.

Same-day rule: the n-th month on, same day, the last day of a shorter month. End-of-month rule: the last
day of the n-th calendar month after the month it was done (as 14 CFR 61.56(c) counts a flight review).
Both are inclusive: the last day still counts. A renewal within its window counts from the last day of what it renews.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta

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


def find_window(last_day: date, months: int, rule: str) -> date:
    """Return the first day on which a renewal counts from the last day of what it renews.

    Examples
    --------
    >>> find_window(date(2026, 12, 20), 3, "same-day"), find_window(date(2026, 6, 30), 1, "end-of-month")
    (datetime.date(2026, 9, 21), datetime.date(2026, 5, 1))
    """
    try:
        start = add_months(last_day, -months)
    except OverflowError:
        return date.min
    return start.replace(day=1) if rule == "end-of-month" else start + timedelta(days=1)


def find_renewed(assessment: Assessment, known: Iterable[Assessment]) -> Assessment | None:
    """Return what an assessment renews: of those before it that end, the one that ends last. O(known).

    It is of the same person, competency and source, of no higher level, dated before it, and not taken back.
    """
    return max(
        (
            other
            for other in known
            if other.valid_until is not None
            and other.withdrawn_on is None
            and other.date < assessment.date
            and other.level <= assessment.level
            and (other.person, other.competency, other.source)
            == (assessment.person, assessment.competency, assessment.source)
        ),
        key=lambda other: other.valid_until or date.max,
        default=None,
    )


def fill_valid_until(
    assessment: Assessment, competency: Competency | None, known: Iterable[Assessment] = ()
) -> Assessment:
    """Return the assessment with its last valid day written in; a day that was given stays.

    The day is fixed when the record is made: a rule that changes later does not change it.

    Parameters
    ----------
    competency : Competency, or None where it does not exist
    known : iterable of Assessment
        The person's other assessments in the competency, in any order: one of them may be what this one renews.

    Raises
    ------
    OverflowError
        It would count until after the year 9999.

    Notes
    -----
    14 CFR 135.323(b) counts training of the calendar month before the month it is due in as done in that month.
    """
    if assessment.valid_until is not None or competency is None or competency.validity_months is None:
        return assessment
    first = assessment.date
    window = competency.renewal_window_months
    renewed = None if window is None else find_renewed(assessment, known)
    if window is not None and renewed is not None and renewed.valid_until is not None:
        last_day = renewed.valid_until
        if find_window(last_day, window, competency.validity_rule) <= first <= last_day:
            first = last_day
    return replace(
        assessment, valid_until=compute_valid_until(first, competency.validity_months, competency.validity_rule)
    )


def fill_by_date(
    assessments: Iterable[Assessment], competency: Competency, known: Iterable[Assessment] = ()
) -> Iterator[tuple[Assessment, Assessment | None]]:
    """Yield the assessments of one person in one competency by date, each as given and as filled in.

    Each may renew one before it, of these or of those `known`; None is one that counts until after the year 9999.
    O(n m) for n of them among m.
    """
    before = list(known)
    for given in sorted(assessments, key=lambda one: one.date):
        try:
            before.append(fill_valid_until(given, competency, before))
        except OverflowError:
            yield given, None
        else:
            yield given, before[-1]
