"""Learning paths with excluded and booked courses, and what else could be taken instead."""

from __future__ import annotations

import pytest
from path_cases import NOBODY, build_company, get_ids

from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.errors import InputError, UnknownIdError

CHAIN = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 20, "", "b"), ("x4", 1, "c", "b"))


def test_an_excluded_course_is_never_used_and_named_where_it_is_missed() -> None:
    assert get_ids(find_path_to_levels(CHAIN, NOBODY, {"b": 1})) == ["x1", "x2"]
    assert get_ids(find_path_to_levels(CHAIN, NOBODY, {"b": 1}, exclude={"x2"})) == ["x3"]
    lost = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, exclude={"x2", "x3"})
    assert (lost.status, lost.courses) == ("unreachable", ())
    assert lost.unreachable[0].reason.endswith(" Excluded at the person's wish: X2 (x2), X3 (x3).")
    gone = find_path_to_levels(CHAIN, NOBODY, {"a": 1}, exclude={"x1"})
    assert gone.unreachable[0].reason == ("No course teaches A (a) at level 1. Excluded at the person's wish: X1 (x1).")


def test_a_booked_course_counts_but_its_hours_stand_apart() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x1"})
    assert (result.status, get_ids(result), result.study_hours, result.lower_bound) == ("optimal", ["x2"], 3, 3)
    assert (result.order, result.booked_hours) == (("x1", "x2"), 5)
    (row,) = result.booked
    assert (row.is_possible, row.enables, row.serves) == (True, ("x2",), ("b",))


def test_booked_courses_alone_may_reach_everything() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x3"}, alternatives=2)
    assert (result.status, result.courses, result.study_hours, result.order) == ("optimal", (), 0, ("x3",))
    assert (result.alternatives, result.indispensable) == ((), ())


def test_a_booked_course_waits_for_the_path_where_that_is_cheaper() -> None:
    # x2 is booked: x1 (5 h) makes it possible, x3 would take 20 h
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x2"})
    assert (get_ids(result), result.order) == (["x1"], ("x1", "x2"))
    assert result.courses[0].serves == ("b",)


def test_a_booked_course_that_nothing_makes_possible_is_reported_and_costs_nothing() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"a": 1}, already_booked={"x4"})
    assert (get_ids(result), result.order) == (["x1"], ("x1",))
    (row,) = result.booked
    assert (row.is_possible, [(w.competency, w.level, w.reached) for w in row.waits_for]) == (False, [("c", 1, 0)])
    assert result.remarks == ("The booked course X4 (x4) waits for C (c) at level 1: nothing on this path gives it.",)


def test_a_booked_course_that_waits_counts_its_weeks_at_the_persons_pace() -> None:
    company = build_company(("x1", 8, "a", "b"))
    (row,) = find_path_to_levels(company, Profile({}, study_hours_per_week=2.0), {}, already_booked={"x1"}).booked
    assert (row.is_possible, row.weeks) == (False, 4)


def test_only_conditions_that_are_not_met_are_waited_for() -> None:
    company = build_company(("x1", 1, "a c:2 d", "b"))
    (row,) = find_path_to_levels(company, Profile({"a": 1, "c": 1}), {}, already_booked={"x1"}).booked
    assert [(w.competency, w.level, w.reached) for w in row.waits_for] == [("c", 2, 1), ("d", 1, 0)]


def test_a_later_course_with_a_lower_level_takes_nothing_away() -> None:
    requirements = [{"role": "r", "competency": i, "level": 1} for i in "ab"]
    company = build_company(("x1", 1, "", "a:3"), ("x2", 1, "a:2", "a:1 b"), requirements=requirements)
    rows = find_learning_path(company, NOBODY, "r").requirements
    assert [(row.competency, row.reached, row.reached_by) for row in rows] == [("a", 3, "x1"), ("b", 1, "x2")]


def test_a_booked_refresher_of_no_use_is_shown_all_the_same() -> None:
    company = build_company(("x1", 5, "", "a"), ("fresh", 2, "", "z!"))
    result = find_path_to_levels(company, NOBODY, {"a": 1}, already_booked={"fresh"})
    assert [(row.id, row.is_possible, row.brings, row.study_hours) for row in result.booked] == [("fresh", True, (), 2)]


def test_unknown_courses_and_those_both_excluded_and_booked_are_refused() -> None:
    for wishes in ({"exclude": {"nope"}}, {"already_booked": {"nope"}}):
        with pytest.raises(UnknownIdError):
            find_path_to_levels(CHAIN, NOBODY, {"a": 1}, **wishes)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="x1"):
        find_path_to_levels(CHAIN, NOBODY, {"a": 1}, exclude={"x1"}, already_booked={"x1"})


def test_alternatives_say_what_they_replace_and_cost_more() -> None:
    more = {"x1": {"cost": 10.0, "weeks": 1.0}, "x3": {"cost": 2.0, "weeks": 4.0, "coach_hours": 3.0}}
    company = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 20, "", "b"), ("x5", 6, "", "a"), more=more)
    result = find_path_to_levels(company, NOBODY, {"b": 1}, alternatives=5)
    assert result.alternatives is not None
    first, second = result.alternatives
    assert (first.courses, first.left_out, first.added, first.more_hours) == (("x5", "x2"), ("x1",), ("x5",), 1)
    assert (second.courses, second.left_out, second.added) == (("x3",), ("x1", "x2"), ("x3",))
    assert (second.more_hours, second.more_cost, second.more_weeks, second.more_coach_hours) == (12, -8, 2.25, 3)
    assert (first.is_proved, second.is_proved, result.indispensable) == (True, True, ())


def test_alternatives_compare_hours_of_coaches_with_those_of_the_best() -> None:
    company = build_company(
        ("x1", 5, "", "a"), ("x2", 6, "", "a"), more={"x1": {"coach_hours": 1.0}, "x2": {"coach_hours": 3.0}}
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1}, alternatives=1)
    assert result.alternatives is not None
    assert [(row.coach_hours, row.more_coach_hours) for row in result.alternatives] == [(3, 2)]


def test_alternatives_come_unasked_for_only_where_they_are_wanted() -> None:
    assert find_path_to_levels(CHAIN, NOBODY, {"b": 1}).alternatives is None
    quick = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, alternatives=None).alternatives
    assert quick is not None
    assert [a.courses for a in quick] == [("x3",)]


def test_a_course_that_no_path_does_without_is_named() -> None:
    company = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 4, "a", "b"))
    assert find_path_to_levels(company, NOBODY, {"b": 1}).indispensable == ("x1",)
