"""Learning paths by weeks: a course's own, or its hours at the pace of who learns, exactly."""

from __future__ import annotations

from fractions import Fraction

from path_cases import NOBODY, build_company, get_ids

from ontology.analysis.paths.aims import get_common_parts, get_week_fraction, get_whole_cents, get_whole_minutes
from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.profile import Profile


def test_least_weeks_are_the_courses_own_or_their_hours_at_the_persons_pace() -> None:
    company = build_company(
        ("long", 4, "", "a"),
        ("short", 12, "", "a"),
        ("paced", 10, "", "a"),
        more={"long": {"weeks": 8.0}, "short": {"weeks": 2.0}},
    )
    by_pace = {
        pace: find_path_to_levels(company, Profile({}, study_hours_per_week=pace), {"a": 1}, minimise="weeks")
        for pace in (4.0, 6.0, 0.0)
    }
    assert {pace: (get_ids(r), r.weeks, r.lower_bound) for pace, r in by_pace.items()} == {
        4.0: (["short"], 2.0, 2.0),
        6.0: (["paced"], 10 / 6, 10 / 6),
        0.0: (["short"], 2.0, 2.0),
    }


def test_a_course_of_no_weeks_counts_none() -> None:
    assert get_week_fraction(Fraction(0), 90, 4.0) == 0


def test_weeks_are_tied_by_hours_and_settle_no_ties_of_hours() -> None:
    company = build_company(
        ("x1", 4, "", "a"), ("x2", 3, "", "a"), ("x3", 3, "", "a"), more={"x1": {"weeks": 1.0}, "x2": {"weeks": 1.0}}
    )
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 1}, minimise="weeks")) == ["x3"]
    assert find_path_to_levels(company, NOBODY, {"a": 1}, minimise="weeks").weeks == 0.75
    # x2 takes more weeks than x3 and as many hours: the id decides
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 1})) == ["x2"]


def test_weeks_add_up_exactly() -> None:
    # 0.1 + 0.2 against 0.3 weeks: equal, so the hours decide
    company = build_company(
        ("x1", 1, "", "a"),
        ("x2", 1, "", "b"),
        ("x3", 3, "", "a b"),
        more={"x1": {"weeks": 0.1}, "x2": {"weeks": 0.2}, "x3": {"weeks": 0.3}},
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1}, minimise="weeks")
    assert (get_ids(result), result.weeks) == (["x1", "x2"], 0.3)


def test_weeks_get_a_common_denominator_that_is_not_too_fine() -> None:
    assert get_common_parts([Fraction(1, 4), Fraction(1, 6)]) == 12
    assert get_common_parts([]) == 1
    assert get_common_parts([Fraction(1, 99_991), Fraction(1, 2)]) == 10_080
    assert get_week_fraction(None, 90, 0.5) == 3
    assert (get_whole_cents(0.29), get_whole_cents(float("inf"))) == (29, None)
    assert (get_whole_minutes(2.05), get_whole_minutes(0.99 / 60)) == (123, 0)


def test_no_hours_for_study_are_said_so() -> None:
    company = build_company(("x1", 4, "", "a"))
    result = find_path_to_levels(company, Profile({}, study_hours_per_week=0.0), {"a": 1})
    assert (result.months, result.weeks) == (None, 1.0)
    assert result.remarks == (
        "No hours a week are free for study: courses that name no weeks are counted at 4 h a week.",
    )


def test_hours_of_coaches_and_months_stand_beside_the_hours() -> None:
    company = build_company(
        ("x1", 26, "", "a"), ("x2", 26, "", "b"), more={"x1": {"coach_hours": 2.5}, "x2": {"coach_hours": 4.0}}
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1})
    assert (result.study_hours, result.coach_hours, result.months) == (52, 6.5, 3.0)
