"""Trainees at places: doubling, never cover."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.places.staffing import StaffingResult, compute_staffing

ASKED = {"role": "r", "competency": "a", "level": 3, "unsupervised_level": 2, "entry_level": 1, "necessity": "blocking"}


def staff(levels: dict[str, int], *places: dict[str, Any], away: str = "", **more: Any) -> StaffingResult:
    """Return the staffing of a team by what each holds of competency a; places of role r, which asks for level 2."""
    rows = build_team_rows(**{person: {"a": level} for person, level in levels.items()})
    for row in rows["people"]:
        row["shift"] = more.get("shifts", {}).get(row["id"], "")
    shifts = [{"id": i, "team": "t", "label": i} for i in sorted(set(more.get("shifts", {}).values()))]
    made = [{"team": "t", "role": "r"} | place for place in places]
    needs = more.get("needs", [])
    snapshot = build_team(
        rows, roles=[{"id": "r", "label": "R"}], requirements=[ASKED], places=made, shifts=shifts, cover_needs=needs
    )
    return compute_staffing(snapshot, "t", ON, frozenset(filter(None, [away])))


def list_trainees(result: StaffingResult) -> list[tuple[str, str, str]]:
    return [(row.place, row.person, row.supervised_by) for row in result.trainees]


def test_who_may_start_and_is_not_able_learns_beside_who_fills_the_place() -> None:
    result = staff({"able": 2, "new": 0, "start": 1}, {"id": "x", "trainees": 2, "trainees_per_able": 2})
    assert list_trainees(result) == [("x", "start", "able")]
    assert (result.places, result.filled, [row.person for row in result.assignment]) == (1, 1, ["able"])


def test_without_trainee_places_there_are_none() -> None:
    assert staff({"able": 2, "start": 1}, {"id": "x"}).trainees == ()


@pytest.mark.parametrize(
    ("trainees", "per_able", "count", "told"), [(3, 1, 1, 1), (3, 2, 1, 2), (1, 3, 1, 1), (4, 1, 2, 2)]
)
def test_at_most_so_many_and_so_many_for_each_who_fills_it(trainees: int, per_able: int, count: int, told: int) -> None:
    place = {"id": "x", "trainees": trainees, "trainees_per_able": per_able, "count": count}
    result = staff({"m1": 2, "m2": 2, "p1": 1, "p2": 1, "p3": 1, "p4": 1}, place)
    assert [row.person for row in result.trainees] == ["p1", "p2", "p3", "p4"][:told]


def test_empty_place_has_no_trainees() -> None:
    result = staff({"start": 1}, {"id": "x", "trainees": 1})
    assert (result.unfilled, result.trainees) == (("x",), ())


def test_who_is_able_and_left_over_or_absent_is_no_trainee() -> None:
    result = staff({"m1": 2, "m2": 2, "start": 1}, {"id": "x", "trainees": 2, "trainees_per_able": 2}, away="start")
    assert result.trainees == ()


def test_supervisor_is_who_has_the_fewest_then_the_first_by_id() -> None:
    place = {"id": "x", "trainees": 3, "trainees_per_able": 2, "count": 2}
    result = staff({"m1": 2, "m2": 2, "p1": 1, "p2": 1, "p3": 1}, place)
    assert list_trainees(result) == [("x", "p1", "m1"), ("x", "p2", "m2"), ("x", "p3", "m1")]


def test_most_trainees_are_placed_then_those_whose_ids_come_first() -> None:
    """Early has p1 alone, the team's place takes anyone: p1 must not take the only seat that p2 could have."""
    early, anywhere = {"id": "e", "shift": "early", "trainees": 1}, {"id": "a", "trainees": 1}
    shifts = {"m1": "early", "p1": "early"}
    result = staff({"m1": 2, "m2": 2, "p1": 1, "p2": 1}, early, anywhere, shifts=shifts)
    assert list_trainees(result) == [("a", "p2", "m2"), ("e", "p1", "m1")]


def test_trainee_is_no_cover_and_fills_no_slot_of_a_group() -> None:
    need = {"team": "t", "competency": "a", "level": 1, "together": "g"}
    result = staff({"m1": 2, "p1": 1, "p2": 1}, {"id": "x", "trainees": 2, "trainees_per_able": 2}, needs=[need])
    (grouped,) = [row.person for row in result.together_assignment]
    assert grouped in ("p1", "p2")
    assert [row.person for row in result.trainees] == [{"p1": "p2", "p2": "p1"}[grouped]]
    assert staff({"m1": 2, "p1": 1}, {"id": "x", "trainees": 1, "count": 2}).filled == 1
