"""A renewal in its window counts from the last day of what it renews: published rule, edges, plain search."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.expected import with_outcomes
from ontology.model.records import Assessment, Competency
from ontology.model.tables import TABLES
from ontology.model.validity import compute_valid_until, fill_by_date, fill_valid_until, find_window

DAY = timedelta(days=1)


def make_competency(window: int | None, rule: str = "same-day", months: int | None = 12) -> Competency:
    made: Competency = TABLES["competencies"].build(
        id="c", label="C", scale="s", validity_months=months, validity_rule=rule, renewal_window_months=window
    )
    return made


def make_assessment(day: date, until: date | None = None, **more: Any) -> Assessment:
    row = {"person": "p", "competency": "c", "level": 1, "source": "certificate"} | more
    made: Assessment = TABLES["assessments"].build(date=day, valid_until=until, **row)
    return made


def renew(competency: Competency, done: date, *known: Assessment) -> date | None:
    return fill_valid_until(make_assessment(done), competency, known).valid_until


@pytest.mark.parametrize(
    ("done", "until"), [(date(2026, 5, 10), date(2027, 6, 30)), (date(2026, 4, 30), date(2027, 4, 30))]
)
def test_training_of_the_month_before_the_month_due_counts_as_done_in_it(done: date, until: date) -> None:
    """14 CFR 135.323(b) (seen in the source); the two days are recomputed by hand from it."""
    former = make_assessment(date(2025, 6, 12), date(2026, 6, 30))
    assert renew(make_competency(1, "end-of-month"), done, former) == until


@pytest.mark.parametrize(
    ("done", "until"), [(date(2026, 10, 2), date(2027, 12, 20)), (date(2026, 9, 20), date(2027, 9, 20))]
)
def test_a_window_of_three_months_before_a_last_day_in_december(done: date, until: date) -> None:
    """Recomputed by hand: the window of 2026-12-20 begins on 2026-09-21."""
    former = make_assessment(date(2025, 12, 20), date(2026, 12, 20))
    assert renew(make_competency(3), done, former) == until


def test_powered_truck_operators_are_evaluated_every_three_years_from_the_last_day() -> None:
    """29 CFR 1910.178(l)(4)(iii): at least once every three years; the window of two months is the employer's."""
    former = make_assessment(date(2023, 11, 2), date(2026, 11, 2))
    assert renew(make_competency(2, months=36), date(2026, 9, 15), former) == date(2029, 11, 2)


@pytest.mark.parametrize(("rule", "first"), [("same-day", date(2026, 11, 29)), ("end-of-month", date(2026, 11, 1))])
def test_the_first_and_last_day_of_a_window_are_in_it(rule: str, first: date) -> None:
    last = date(2027, 2, 28)  # three months before it is 28 November; the day after begins the window
    former, competency = make_assessment(date(2026, 2, 28), last), make_competency(3, rule)
    assert find_window(last, 3, rule) == first
    renewed = compute_valid_until(last, 12, rule)
    assert renew(competency, first, former) == renewed
    assert renew(competency, last, former) == renewed
    assert renew(competency, first - DAY, former) == compute_valid_until(first - DAY, 12, rule)
    assert renew(competency, last + DAY, former) == compute_valid_until(last + DAY, 12, rule)


IN_WINDOW, LAST = date(2026, 10, 2), date(2026, 12, 20)
OWN = date(2027, 10, 2)


@pytest.mark.parametrize(
    "other",
    [
        {"person": "q"},
        {"competency": "d"},
        {"source": "assessor"},
        {"level": 2},
        {"withdrawn_on": date(2026, 1, 1)},
        {"day": IN_WINDOW},
        {"day": IN_WINDOW + DAY},
        {"until": None},
    ],
    ids=lambda other: next(iter(other)),
)
def test_what_is_of_another_person_kind_level_or_time_is_not_renewed(other: dict[str, Any]) -> None:
    row = {"day": date(2025, 12, 20), "until": LAST} | other
    assert renew(make_competency(3), IN_WINDOW, make_assessment(**row)) == OWN


def test_a_higher_level_earned_in_the_window_counts_from_the_last_day_too() -> None:
    former = make_assessment(date(2025, 12, 20), LAST)
    higher = fill_valid_until(make_assessment(IN_WINDOW, level=2), make_competency(3), [former])
    assert higher.valid_until == date(2027, 12, 20)


def test_only_the_one_that_ends_last_is_renewed() -> None:
    near, far = make_assessment(date(2025, 12, 20), LAST), make_assessment(date(2026, 2, 1), date(2027, 2, 1))
    assert renew(make_competency(3), IN_WINDOW, near) == date(2027, 12, 20)
    assert renew(make_competency(3), IN_WINDOW, near, far) == OWN
    assert renew(make_competency(5), IN_WINDOW, far, near) == date(2028, 2, 1)


def test_without_a_window_or_with_a_day_that_is_given_nothing_is_looked_up() -> None:
    former = make_assessment(date(2025, 12, 20), LAST)
    assert renew(make_competency(None), IN_WINDOW, former) == OWN
    assert renew(make_competency(0), LAST, former) == compute_valid_until(LAST, 12, "same-day")
    assert renew(make_competency(3, months=None), IN_WINDOW, former) is None
    given = make_assessment(IN_WINDOW, date(2026, 11, 1))
    assert fill_valid_until(given, make_competency(3), [former]) == given


def test_a_window_that_begins_before_the_calendar_and_an_end_after_it() -> None:
    assert find_window(date(1, 2, 1), 3, "same-day") == date.min
    former = make_assessment(date(9990, 1, 1), date(9999, 6, 1))
    with pytest.raises(OverflowError):
        renew(make_competency(3), date(9999, 5, 1), former)


def fill_plainly(rows: list[Assessment], competency: Competency) -> list[Assessment]:
    """By date, each from the last day of the former one where it lies in the window: month by month, day by day."""
    done: list[Assessment] = []
    for row in sorted(rows, key=lambda one: one.date):
        until = row.valid_until
        if until is None:
            lasts = [
                a.valid_until for a in done if a.source == row.source and a.level <= row.level and a.date < row.date
            ]
            last = max((day for day in lasts if day is not None), default=None)
            start = row.date
            if last is not None and row.date <= last and is_in_window(row.date, last, competency):
                start = last
            until = compute_valid_until(start, competency.validity_months, competency.validity_rule)
        done.append(make_assessment(row.date, until, source=row.source, level=row.level))
    return done


def is_in_window(day: date, last: date, competency: Competency) -> bool:
    months = competency.renewal_window_months or 0
    back = last.year * 12 + last.month - 1 - months
    if competency.validity_rule == "end-of-month":
        return day.year * 12 + day.month - 1 >= back
    first = date(back // 12, back % 12 + 1, 1)
    while first.month == back % 12 + 1 and first.day < last.day:
        first += DAY  # the same day of that month; its last day where it is shorter
    if first.month != back % 12 + 1:
        first -= DAY
    return day > first


days = st.dates(date(2025, 1, 1), date(2027, 12, 31))
assessments = st.lists(
    st.builds(
        lambda day, length, level, source: make_assessment(
            day, None if length is None else day + timedelta(days=length), level=level, source=source
        ),
        days,
        st.none() | st.integers(0, 500),
        st.integers(1, 2),
        st.sampled_from(["certificate", "assessor"]),
    ),
    max_size=7,
    unique_by=TABLES["assessments"].get_key,
)


@given(assessments, st.integers(0, 12), st.integers(1, 24), st.sampled_from(["same-day", "end-of-month"]))
def test_rows_in_any_order_are_filled_as_a_plain_search_by_date_fills_them(
    rows: list[Assessment], window: int, months: int, rule: str
) -> None:
    competency = make_competency(window, rule, months)
    found = [filled for _, filled in fill_by_date(rows, competency)]
    assert found == fill_plainly(rows, competency)
    assert sorted(found, key=str) == sorted((f for _, f in fill_by_date(rows[::-1], competency)), key=str)


def test_what_a_plan_is_expected_to_bring_counts_from_the_last_day_as_a_record_would() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("card", kind="certificate", validity_months=12, renewal_window_months=3),
        people=[{"id": "p", "name": "P"}],
        courses=[{"id": "k", "label": "K", "hours": 4.0}],
        outcomes=[{"course": "k", "competency": "card", "level": 1, "renews": True}],
        assessments=[
            {"person": "p", "competency": "card", "level": 1, "date": date(2025, 12, 20), "source": "certificate"}
            | {"valid_until": LAST}
        ],
    )
    ends = []
    for done in (IN_WINDOW, date(2026, 9, 20)):
        after = with_outcomes(company, [("p", "k", done)])
        ends.append(after.get_assessments("p", "card")[-1].valid_until)
    assert ends == [date(2027, 12, 20), date(2027, 9, 20)]
    # the second course of a plan renews what the first one brings
    both = with_outcomes(company, [("p", "k", date(2027, 11, 1)), ("p", "k", IN_WINDOW)])
    assert [a.valid_until for a in both.get_assessments("p", "card")][1:] == [date(2027, 12, 20), date(2028, 12, 20)]
