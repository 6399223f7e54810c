"""People needed for the hours a post is manned in a year, against who is qualified."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.places.headcount import HeadcountResult, compute_headcount, count_people_needed
from ontology.errors import InputError


def ask(net_hours: float = 1600.0, **more: Any) -> HeadcountResult:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 1}, s={"b": 1})
    rows["shifts"] = [{"id": i, "team": "t", "label": i} for i in ("day", "night")]
    for row in rows["people"]:
        row["shift"] = "night" if row["id"] == "q" else "day"
    rows["absences"] = [{"person": "q", "from_date": ON, "to_date": ON}]
    rows["cover_needs"] = [
        {"team": "t", "competency": "a", "level": 2, "minimum": 2, "hours_per_year": 8760.0},
        {"team": "t", "competency": "a", "level": 1, "applies": "each-shift"},
    ]
    rows["roles"] = [{"id": "hand", "label": "Hand"}]
    rows["requirements"] = [{"role": "hand", "competency": "b", "level": 1}]
    rows["places"] = more.pop("places", None) or [
        {"id": "post", "team": "t", "role": "hand", "count": 2, "hours_per_year": 2000.0}
    ]
    return compute_headcount(build_team(rows), "t", ON, net_hours=net_hours, **more)


def test_quotient_is_rounded_up_and_compared_with_who_is_qualified() -> None:
    *_, need, place = ask().rows
    assert (need.kind, need.competency, need.level, need.applies, need.shift) == ("need", "a", 2, "team", None)
    assert (need.relief_factor, need.quotient, need.people_needed) == (5.475, 10.95, 11)
    # absent people are qualified all the same
    assert (need.qualified, need.difference) == (("p", "q"), -9)
    assert (place.kind, place.place, place.role, place.minimum) == ("place", "post", "hand", 2)
    assert (place.relief_factor, place.quotient, place.people_needed) == (1.25, 2.5, 3)
    assert (place.qualified, place.difference) == (("s",), -2)


def test_shifts_in_turn_share_the_hours() -> None:
    result = ask(manned_hours=4800.0)
    (need,) = [row for row in result.rows if row.applies == "each-shift"]
    assert (need.shift, need.manned_hours, need.people_needed) == (None, 4800.0, 3)
    assert (need.qualified, need.difference) == (("p", "q", "r"), 0)
    place = {"id": "x", "team": "t", "role": "hand", "shift": "day"}
    (row,) = [row for row in ask(manned_hours=4800.0, places=[place]).rows if row.kind == "place"]
    assert (row.shift, row.manned_hours, row.quotient, row.people_needed) == ("day", 2400.0, 1.5, 2)
    (row,) = [
        row for row in ask(manned_hours=4800.0, places=[place], shifts="side-by-side").rows if row.kind == "place"
    ]
    assert (row.manned_hours, row.people_needed) == (4800.0, 3)


def test_shifts_side_by_side_are_each_checked() -> None:
    result = ask(manned_hours=1600.0, shifts="side-by-side")
    shifts = [row for row in result.rows if row.applies == "each-shift"]
    assert [(row.shift, row.people_needed, row.qualified, row.difference) for row in shifts] == [
        ("day", 1, ("p", "r"), 1),
        ("night", 1, ("q",), 0),
    ]
    # the rows that tell hours of their own keep them
    assert [row.manned_hours for row in result.rows] == [1600.0, 1600.0, 8760.0, 2000.0]


def test_without_hours_nothing_is_made_up() -> None:
    result = ask()
    unknown = [row for row in result.rows if row.manned_hours is None]
    assert [(r.relief_factor, r.quotient, r.people_needed, r.difference) for r in unknown] == [(None,) * 4]
    assert result.remarks[1] == "1 of 3 tell no hours a year, and none were given for them."


def test_people_away_are_not_counted() -> None:
    result = ask(away=frozenset({"p"}))
    assert next(row.qualified for row in result.rows if row.level == 2) == ("q",)


def test_figures_are_taken_as_they_are_written() -> None:
    assert count_people_needed(11, 100.0, 1100.0) == (1.0, 1)
    assert count_people_needed(3, 0.1, 0.3) == (1.0, 1)
    assert count_people_needed(1, 0.0, 1.0) == (0.0, 0)
    assert count_people_needed(0, 8760.0, 1600.0) == (0.0, 0)


@given(st.integers(0, 20), st.integers(0, 8784), st.integers(1, 8784))
def test_people_needed_are_the_fewest_whose_hours_suffice(minimum: int, manned: int, net: int) -> None:
    quotient, people = count_people_needed(minimum, float(manned), float(net))
    assert people * net >= minimum * manned
    assert people == 0 or (people - 1) * net < minimum * manned
    assert quotient == pytest.approx(minimum * manned / net)


@pytest.mark.parametrize(
    "wrong",
    [(-1, 1.0, 1.0), (1, -1.0, 1.0), (1, 1.0, 0.0), (1, 1.0, -1.0), (1, float("inf"), 1.0), (1, 1.0, float("nan"))],
)
def test_figures_outside_their_limits_are_refused(wrong: tuple[int, float, float]) -> None:
    with pytest.raises(InputError):
        count_people_needed(*wrong)


def test_other_patterns_of_shifts_are_refused() -> None:
    with pytest.raises(InputError, match="in-turn or side-by-side"):
        ask(shifts="now-and-then")


def test_net_hours_of_nothing_are_refused() -> None:
    with pytest.raises(InputError):
        ask(net_hours=0.0)
