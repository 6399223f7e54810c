"""Who is closest to the slots that stay empty, all of them taken together."""

from __future__ import annotations

from itertools import product
from typing import Any

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.places.closest import MissingLevel, assign_least_gaps
from ontology.analysis.places.staffing import StaffingResult, compute_staffing

ROLES = [{"id": r, "label": r} for r in ("ra", "rab", "rnone")]
REQUIREMENTS = [
    {"role": "ra", "competency": "a", "level": 5, "unsupervised_level": 3, "entry_level": 1},
    {
        "role": "rab",
        "competency": "a",
        "level": 4,
        "unsupervised_level": 2,
        "entry_level": 1,
        "necessity": "blocking",
    },
    {"role": "rab", "competency": "b", "level": 4},
    {"role": "rab", "competency": "c", "level": 5, "necessity": "desirable"},
]


def staff(rows: Rows, **more: Any) -> StaffingResult:
    return compute_staffing(build_team(rows, roles=ROLES, requirements=REQUIREMENTS, **more), "t", ON)


def place(place_id: str, role: str = "ra", **more: Any) -> dict[str, Any]:
    return {"id": place_id, "team": "t", "role": role} | more


def test_closest_lacks_the_fewest_levels_at_unsupervised_level_and_says_which() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 1}, r={"a": 2})
    result = staff(rows, places=[place("x", count=2)])
    (row,) = result.closest
    assert (row.place, row.person, row.gap) == ("x", "r", 1)
    assert row.missing == (MissingLevel("a", 3, 2),)


def test_desirable_requirements_and_people_with_a_slot_are_left_out() -> None:
    rows = build_team_rows(p={"a": 2, "b": 4}, q={"a": 5, "b": 1, "c": 5}, r={"a": 3})
    result = staff(rows, places=[place("x", "rab", count=2), place("y")])
    assert {(a.place, a.person) for a in result.assignment} == {("x", "p"), ("y", "q")}
    assert [(row.place, row.person, row.missing) for row in result.closest] == [
        ("x", "r", (MissingLevel("b", 4, None),)),
    ]


def test_all_empty_slots_are_taken_together() -> None:
    """q is nearest to both; the least sum gives q where r lacks much more (1 + 3 against 2 + 4 levels)."""
    rows = build_team_rows(q={"a": 2, "b": 2}, r={"b": 2})
    result = staff(rows, places=[place("x"), place("y", "rab")])
    assert [(row.place, row.person, row.gap) for row in result.closest] == [("x", "q", 1), ("y", "r", 4)]


def test_nobody_is_offered_from_another_shift_or_for_a_role_that_asks_for_nothing() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 1})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    rows["people"][0]["shift"], rows["people"][1]["shift"] = "early", "late"
    result = staff(rows, places=[place("w", "rnone"), place("x", shift="late")])
    assert [(row.place, row.shift, row.person) for row in result.closest] == [("x", "late", "q")]


def test_slot_of_a_group_names_its_need() -> None:
    needs = [{"team": "t", "competency": "b", "level": 3, "minimum": 2, "together": "g"}]
    result = staff(build_team_rows(p={"b": 3}, q={"b": 2}), cover_needs=needs)
    (row,) = result.closest
    assert (row.place, row.together, row.person, row.missing) == (None, "g", "q", (MissingLevel("b", 3, 2),))


def test_full_staffing_has_no_closest() -> None:
    assert staff(build_team_rows(p={"a": 3}, q={}), places=[place("x")]).closest == ()


@settings(max_examples=draws(200), deadline=None)
@given(
    st.integers(0, 4).flatmap(
        lambda n: st.lists(st.lists(st.one_of(st.none(), st.integers(0, 3)), min_size=n, max_size=n), max_size=4)
    )
)
def test_least_gaps_are_those_of_the_best_of_all_assignments(gaps: list[list[int | None]]) -> None:
    columns = len(gaps[0]) if gaps else 0

    def judge(choice: tuple[int, ...]) -> tuple[int, int, tuple[int, ...]]:
        given_to = [(i, c) for i, c in enumerate(choice) if c < columns]
        return -len(given_to), sum(gaps[i][c] or 0 for i, c in given_to), choice

    allowed = [
        choice
        for choice in product(range(columns + 1), repeat=len(gaps))
        if len({c for c in choice if c < columns}) == sum(c < columns for c in choice)
        and all(gaps[i][c] is not None for i, c in enumerate(choice) if c < columns)
    ]
    best = min(allowed, key=judge)
    assert assign_least_gaps(gaps) == [None if c == columns else c for c in best]


def test_least_gaps_agree_with_the_published_assignment() -> None:
    """Kuhn 1955, Naval Research Logistics Quarterly 2, section 3 (from memory): greatest sum of ratings 27."""
    ratings = [[8, 7, 9, 9], [5, 2, 7, 8], [6, 1, 4, 9], [2, 3, 2, 6]]
    columns = assign_least_gaps([[9 - rating for rating in row] for row in ratings])
    assert sum(row[c] for row, c in zip(ratings, columns, strict=True) if c is not None) == 27
