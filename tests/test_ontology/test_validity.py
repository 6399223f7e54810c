"""Validity: calendar arithmetic against published rules."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ontology.model.tables import TABLES
from ontology.model.validity import add_months, compute_valid_until, fill_valid_until


def test_flight_review_lasts_to_the_end_of_the_24th_calendar_month() -> None:
    """14 CFR 61.56(c): a review of 15 January 2024 lasts to 31 January 2026."""
    assert compute_valid_until(date(2024, 1, 15), 24, "end-of-month") == date(2026, 1, 31)


def test_powered_truck_operator_is_evaluated_every_three_years() -> None:
    """29 CFR 1910.178(l)(4)(iii): at least once every three years, counted here by the same day."""
    assert compute_valid_until(date(2023, 6, 10), 36, "same-day") == date(2026, 6, 10)


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 12, 31), 2, date(2025, 2, 28)),
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2026, 5, 15), 0, date(2026, 5, 15)),
    ],
)
def test_same_day_rule_takes_the_last_day_of_a_shorter_month(start: date, months: int, end: date) -> None:
    assert compute_valid_until(start, months, "same-day") == end


def test_no_validity_has_no_end_and_a_given_day_stays() -> None:
    competency = TABLES["competencies"].build(id="c", label="C", scale="s", validity_months=12)
    row = {"person": "p", "competency": "c", "level": 1, "date": date(2026, 1, 31)}
    assert compute_valid_until(date(2026, 1, 1), None, "same-day") is None
    assert fill_valid_until(TABLES["assessments"].build(**row), competency).valid_until == date(2027, 1, 31)
    given = TABLES["assessments"].build(**row, valid_until=date(2026, 3, 1))
    assert fill_valid_until(given, competency).valid_until == date(2026, 3, 1)


def test_a_validity_beyond_the_calendar_is_an_error() -> None:
    with pytest.raises(OverflowError):
        add_months(date(9999, 1, 1), 12)


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(0, 600))
def test_end_of_month_is_the_last_day_of_the_month_the_same_day_rule_ends_in(start: date, months: int) -> None:
    same = compute_valid_until(start, months, "same-day")
    end = compute_valid_until(start, months, "end-of-month")
    assert same is not None
    assert end is not None
    assert (end + timedelta(days=1)).day == 1
    assert (end.year, end.month) == (same.year, same.month)
