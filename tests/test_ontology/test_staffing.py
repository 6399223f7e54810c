"""Staffing: places and grouped needs filled at once by different people, and the bottleneck where they cannot be."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.places.bottleneck import find_matching
from ontology.analysis.places.staffing import StaffingResult, compute_staffing
from ontology.errors import UnknownIdError

ROLES = [{"id": r, "label": r} for r in ("ra", "rb", "rab", "rnone", "rwish")]
REQUIREMENTS = [
    {"role": "ra", "competency": "a", "level": 4, "unsupervised_level": 2, "entry_level": 1},
    {"role": "rb", "competency": "b", "level": 2},
    {"role": "rab", "competency": "a", "level": 2, "necessity": "blocking"},
    {"role": "rab", "competency": "b", "level": 2, "necessity": "essential"},
    {"role": "rab", "competency": "c", "level": 5, "necessity": "desirable"},
    {"role": "rwish", "competency": "c", "level": 5, "necessity": "desirable"},
]


def staff(rows: Rows, away: frozenset[str] = frozenset(), **more: Any) -> StaffingResult:
    return compute_staffing(build_team(rows, roles=ROLES, requirements=REQUIREMENTS, **more), "t", ON, away)


def place(place_id: str, role: str = "ra", **more: Any) -> dict[str, Any]:
    return {"id": place_id, "team": "t", "role": role} | more


def test_unsupervised_level_of_blocking_and_essential_requirements_decides() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"a": 1, "b": 5})
    result = staff(rows, places=[place("x"), place("y", "rab"), place("z", "rb")])
    assert {(a.place, a.person) for a in result.assignment} == {("x", "p"), ("y", "q"), ("z", "r")}
    assert (result.places, result.filled, result.unfilled) == (3, 3, ())
    assert (result.bottleneck.places, result.bottleneck.people) == ((), ())


def test_bottleneck_names_the_slots_that_compete_and_the_too_few_people() -> None:
    rows = build_team_rows(p={"a": 2}, q={"b": 2}, r={"b": 2})
    result = staff(rows, places=[place("x", count=2), place("y"), place("z", "rb")])
    assert (result.places, result.filled) == (4, 2)
    assert result.unfilled == ("x", "y")
    assert (result.bottleneck.places, result.bottleneck.people) == (("x", "x", "y"), ("p",))
    assert [(b.kind, b.place, b.missing) for b in result.tolerance.broken] == [("place", "x", 1), ("place", "y", 1)]
    assert (result.tolerance.places, result.tolerance.overall) == (None, None)
    assert result.critical_absences == ("p",)


def test_shift_places_are_filled_by_the_shift_and_team_places_by_everyone() -> None:
    rows = build_team_rows(e={"a": 2}, l={"a": 2}, x={"a": 2})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    rows["people"][0]["shift"], rows["people"][1]["shift"] = "early", "late"
    result = staff(rows, places=[place("one", shift="late"), place("two", shift="early"), place("any")])
    assert {(a.place, a.person, a.shift) for a in result.assignment} == {
        ("one", "l", "late"),
        ("two", "e", "early"),
        ("any", "x", None),
    }


def test_role_without_requirements_is_for_nobody_with_a_remark() -> None:
    result = staff(build_team_rows(p={"a": 5}), places=[place("x", "rnone"), place("y", "rwish")])
    assert result.unfilled == ("x",)
    assert [(a.place, a.person) for a in result.assignment] == [("y", "p")]
    assert "no requirements" in result.remarks[0]
    assert "everyone is able" in result.remarks[1]


def test_grouped_needs_take_people_of_their_own_beside_the_places() -> None:
    needs = [
        {"team": "t", "competency": "a", "level": 2, "together": "g", "minimum": 2},
        {"team": "t", "competency": "b", "level": 2, "together": "g"},
        {"team": "t", "competency": "b", "level": 1},
    ]
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={"b": 2}, s={"a": 2, "b": 2})
    full = staff(rows, cover_needs=needs, places=[place("x")])
    assert (full.places, full.filled, full.together_slots, full.together_filled) == (1, 1, 3, 3)
    assert full.tolerance.places == 0
    short = staff(rows, frozenset({"p"}), cover_needs=needs, places=[place("x")])
    assert (short.filled, short.together_filled, short.unfilled) == (1, 2, ())
    assert [(need.competency, need.slots) for need in short.unfilled_needs] == [("a", 1)]
    assert (short.bottleneck.places, short.bottleneck.people) == (("x",), ("q", "s"))
    assert [(need.competency, need.slots) for need in short.bottleneck.needs] == [("a", 2)]


def test_grouped_need_of_each_shift_gives_slots_in_every_shift() -> None:
    rows = build_team_rows(e={"a": 2}, l={"a": 2})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    rows["people"][0]["shift"], rows["people"][1]["shift"] = "early", "late"
    needs = [{"team": "t", "competency": "a", "level": 2, "applies": "each-shift", "together": "g"}]
    result = staff(rows, cover_needs=needs)
    assert [(a.shift, a.person) for a in result.together_assignment] == [("early", "e"), ("late", "l")]


def test_team_without_anything_is_empty() -> None:
    result = staff(build_team_rows(p={}))
    assert (result.places, result.filled, result.assignment, result.critical_absences) == (0, 0, (), ())
    assert result.tolerance.overall is None


def test_unknown_ids_are_refused() -> None:
    with pytest.raises(UnknownIdError):
        staff(build_team_rows(p={}), frozenset({"nosuch"}))


def test_place_in_a_shift_of_another_team_is_told_in_a_remark() -> None:
    rows = build_team_rows(p={"a": 2})
    rows["teams"].append({"id": "u", "label": "Other"})
    rows["shifts"] = [{"id": "early", "team": "t", "label": "e"}, {"id": "foreign", "team": "u", "label": "f"}]
    result = staff(rows, places=[place("x", shift="early"), place("y", shift="foreign"), place("z")])
    assert result.remarks == ("Place y belongs to foreign, which is no shift of this team.",)


def test_slot_asked_for_in_vain_closes_only_those_who_cannot_give_way() -> None:
    assert find_matching([["b", "c"], ["a"], ["a"], ["b"]]).person_of == ["c", "a", None, "b"]
