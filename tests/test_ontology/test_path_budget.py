"""What a budget buys of a learning path: rows worked out by hand."""

from __future__ import annotations

import pytest
from budget_cases import NOBODY, build_company, get_ids

from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.profile import Profile
from ontology.errors import InputError

#: a: level 4, weight 2, by steps of 10 h and 6 h; b: level 1, weight 1, in 5 h; c: level 2, weight 1, in 8 h
COMPANY = build_company(
    [
        ("a2", 10, 100, "", "a:2"),
        ("a4", 6, 10, "a:2", "a:4"),
        ("b1", 5, 300, "", "b:1"),
        ("c2", 8, 20, "", "c:2"),
    ],
    [
        {"competency": "a", "level": 4, "weight": 2.0},
        {"competency": "b", "level": 1, "weight": 1.0},
        {"competency": "c", "level": 2, "weight": 1.0, "necessity": "desirable"},
    ],
)


@pytest.mark.parametrize(
    ("limits", "courses", "within", "after"),
    [
        ({"max_hours": 21}, ["a2", "b1", "a4"], True, 0.75),
        ({"max_hours": 18.9}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 17}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 13}, ["b1", "c2"], False, 0.5),
        ({"max_hours": 12.99}, ["b1"], False, 0.25),
        ({"max_hours": 4.9}, [], False, 0.0),
        ({"max_hours": 0}, [], False, 0.0),
        ({"max_cost": 130}, ["a2", "c2", "a4"], False, 0.75),
        ({"max_cost": 110}, ["a2", "a4"], False, 0.5),
        ({"max_hours": 16, "max_cost": 129.99}, ["a2", "a4"], False, 0.5),
        ({"max_hours": 100, "max_cost": 410}, ["a2", "b1", "a4"], True, 0.75),
    ],
)
def test_budget_buys_the_largest_readiness(
    limits: dict[str, float], courses: list[str], within: bool, after: float
) -> None:
    # a2 + c2 (18 h), a2 + a4 (16 h), a2 + b1 (15 h) and b1 + c2 (13 h) all bring 0.5; the least hours win
    result = find_learning_path(COMPANY, NOBODY, "r", **limits)  # type: ignore[arg-type]
    assert (get_ids(result), result.within_budget, result.readiness_after) == (courses, within, after)
    assert result.status == "optimal"


def test_a_partial_level_counts_and_says_whom_it_serves() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=10, max_cost=100, exclude=frozenset({"c2"}))
    assert (get_ids(result), result.readiness_after) == (["a2"], 0.25)
    assert result.courses[0].serves == ("a",)
    rows = {row.competency: (row.reached, row.reached_by, row.state) for row in result.requirements}
    assert rows == {"a": (2, "a2", "beyond-budget"), "b": (0, None, "beyond-budget"), "c": (0, None, "not-asked")}


def test_the_budget_says_what_the_whole_path_needs_and_what_is_left() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=14.5)
    budget = result.budget
    assert budget is not None
    assert (budget.max_hours, budget.max_cost) == (14.5, None)
    assert (budget.needed_hours, budget.needed_cost) == (21, 410)
    assert (budget.left_hours, budget.left_cost, budget.readiness_bound) == (1.5, None, 0.5)
    assert (result.study_hours, result.lower_bound) == (13, 21)


def test_ties_of_readiness_go_by_the_aim_asked_for() -> None:
    # 0.5 by a2 + a4 (16 h, 110) or by b1 + c2 (13 h, 320)
    assert get_ids(find_learning_path(COMPANY, NOBODY, "r", max_hours=16)) == ["b1", "c2"]
    assert get_ids(find_learning_path(COMPANY, NOBODY, "r", max_hours=16, minimise="cost")) == ["a2", "a4"]


def test_a_dearer_path_within_both_limits_is_preferred_to_a_share_of_the_cheapest() -> None:
    company = build_company(
        [("quick", 4, 900, "", "a:3"), ("slow", 9, 100, "", "a:3"), ("half", 1, 0, "", "a:2")],
        [{"competency": "a", "level": 3}],
    )
    result = find_learning_path(company, NOBODY, "r", max_cost=500)
    assert (get_ids(result), result.within_budget, result.lower_bound) == (["slow"], True, 9)
    assert result.budget is not None
    assert (result.budget.needed_hours, result.budget.needed_cost) == (4, 900)
    both = find_learning_path(company, NOBODY, "r", max_cost=500, max_hours=9)
    assert (get_ids(both), both.within_budget) == (["slow"], True)
    assert get_ids(find_learning_path(company, NOBODY, "r", max_cost=500, max_hours=8)) == ["half"]


def test_what_the_least_cost_is_says_nothing_of_a_limit_of_hours() -> None:
    company = build_company(
        [("cheap", 20, 100, "", "a:3"), ("quick", 4, 900, "", "a:3")], [{"competency": "a", "level": 3}]
    )
    result = find_learning_path(company, NOBODY, "r", minimise="cost", max_hours=5)
    assert (get_ids(result), result.within_budget) == (["quick"], True)


def test_alternatives_keep_the_budget_and_there_are_none_beyond_it() -> None:
    company = build_company(
        [("x1", 4, 0, "", "a:1"), ("x2", 6, 0, "", "a:1"), ("x3", 9, 0, "", "a:1")], [{"competency": "a", "level": 1}]
    )
    result = find_learning_path(company, NOBODY, "r", max_hours=7, alternatives=5)
    assert result.alternatives is not None
    assert [a.courses for a in result.alternatives] == [("x2",)]
    assert find_learning_path(company, NOBODY, "r", max_hours=3, alternatives=5).alternatives is None


def test_booked_courses_cost_nothing_of_the_budget() -> None:
    result = find_learning_path(COMPANY, NOBODY, "r", max_hours=6, minimise="cost", already_booked=frozenset({"a2"}))
    assert (get_ids(result), result.readiness_after, result.booked_hours) == (["a4"], 0.5, 10)
    assert result.order == ("a2", "a4")


def test_nothing_to_do_lies_within_every_budget() -> None:
    result = find_learning_path(COMPANY, Profile({"a": 4, "b": 1}), "r", max_hours=0)
    assert (result.status, result.within_budget, result.readiness_after) == ("nothing-to-do", True, 0.75)


def test_levels_out_of_reach_are_named_and_their_part_still_counts() -> None:
    company = build_company(
        [("a2", 3, 0, "", "a:2"), ("b1", 2, 0, "", "b:1")],
        [{"competency": "a", "level": 4, "weight": 1.0}, {"competency": "b", "level": 1, "weight": 1.0}],
    )
    result = find_learning_path(company, NOBODY, "r", max_hours=1)
    assert (result.status, result.courses, result.readiness_after) == ("unreachable", (), 0)
    assert [row.competency for row in result.unreachable] == ["a"]
    # all that can be reached in full fits: the part of a is no target and is not bought
    assert get_ids(find_learning_path(company, NOBODY, "r", max_hours=2)) == ["b1"]


@pytest.mark.parametrize("limits", [{"max_hours": -1.0}, {"max_cost": -0.5}, {"max_hours": float("nan")}])
def test_a_budget_below_nothing_is_refused(limits: dict[str, float]) -> None:
    with pytest.raises(InputError, match="budget"):
        find_learning_path(COMPANY, NOBODY, "r", **limits)  # type: ignore[arg-type]
