"""Single points of failure: who alone makes a need short or empties a place."""

from __future__ import annotations

from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.places.holding import FallenNeed
from ontology.analysis.places.single_points import find_single_points_of_failure

ROLES = [{"id": "ra", "label": "ra"}, {"id": "rb", "label": "rb"}]
REQUIREMENTS = [{"role": "ra", "competency": "a", "level": 2}, {"role": "rb", "competency": "b", "level": 2}]


def find(rows: Rows, away: frozenset[str] = frozenset(), **more: Any) -> dict[str, Any]:
    snapshot = build_team(rows, roles=ROLES, requirements=REQUIREMENTS, **more)
    return {person.id: person for person in find_single_points_of_failure(snapshot, "t", ON, away).people}


def place(place_id: str, role: str = "ra", **more: Any) -> dict[str, Any]:
    return {"id": place_id, "team": "t", "role": role} | more


def test_everyone_without_reserve_is_one_and_who_is_spare_is_not() -> None:
    needs = [
        {"team": "t", "competency": "a", "level": 2, "minimum": 2},
        {"team": "t", "competency": "b", "level": 1},
    ]
    found = find(build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2}), cover_needs=needs)
    assert list(found) == ["p", "q"]
    assert found["p"].needs == (FallenNeed("a", 2, "team", None),)
    found = find(build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2}), frozenset({"q"}), cover_needs=needs)
    assert list(found) == ["r"], "a need that is short already falls with nobody, and q is away already"


def test_need_of_each_shift_falls_only_with_people_of_that_shift() -> None:
    rows = build_team_rows(e1={"a": 2}, e2={"a": 2}, l1={"a": 2}, x={"a": 2})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    for person in rows["people"][:3]:
        person["shift"] = "early" if person["id"][0] == "e" else "late"
    found = find(rows, cover_needs=[{"team": "t", "competency": "a", "level": 2, "applies": "each-shift"}])
    assert list(found) == ["l1"]
    assert found["l1"].needs == (FallenNeed("a", 2, "each-shift", "late"),)


def test_place_falls_with_its_only_able_person() -> None:
    found = find(build_team_rows(p={"a": 2}, q={"b": 2}, r={"b": 2}), places=[place("one"), place("two", "rb")])
    assert {i: person.places for i, person in found.items()} == {"p": ("one",)}


def test_one_slot_falls_where_several_could_and_it_is_the_one_that_staffing_leaves_empty() -> None:
    places = [place("one"), place("two"), place("three", "rb")]
    found = find(build_team_rows(p={"a": 2}, q={"a": 2}, r={"b": 2}, s={"b": 2}), places=places)
    assert {i: person.places for i, person in found.items()} == {"p": ("two",), "q": ("two",)}


def test_place_that_is_empty_already_does_not_fall() -> None:
    """p can fill one, q both, r two: one slot of two is empty already, and one more is without anyone of them."""
    places = [place("one", count=2), place("two", "rb", count=2)]
    found = find(build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2}), places=places)
    assert {i: person.places for i, person in found.items()} == {"p": ("one",), "q": ("one",), "r": ("two",)}


def test_someone_who_would_be_replaced_along_a_chain_is_none() -> None:
    """p works at one; without p, q moves over to one and r takes two."""
    people = build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2})
    assert find(people, places=[place("one"), place("two", "rb")]) == {}


def test_where_places_are_too_many_already_each_holder_is_one() -> None:
    found = find(build_team_rows(p={"a": 2}, q={"b": 2}), places=[place("one", count=2), place("two")])
    assert {i: person.places for i, person in found.items()} == {"p": ("one",)}


def test_needs_of_a_group_fall_when_different_people_are_no_longer_there() -> None:
    """Both needs keep their depth of 1 without p, but q alone cannot meet both at once."""
    needs = [
        {"team": "t", "competency": "a", "level": 2, "together": "g"},
        {"team": "t", "competency": "b", "level": 2, "together": "g"},
    ]
    found = find(build_team_rows(p={"a": 2, "b": 2}, q={"a": 2, "b": 2}), cover_needs=needs)
    assert list(found) == ["p", "q"]
    assert found["p"].needs == ()
    assert [(need.competency, need.slots) for need in found["p"].together] == [("b", 1)]


def test_team_without_needs_and_places_has_none() -> None:
    assert find(build_team_rows(p={"a": 2})) == {}


def test_who_holds_the_place_that_a_needs_person_would_have_to_take_over_is_one_for_the_need() -> None:
    """Without p, q would have to leave the needs, short by one already, for the place: they lose a slot more."""
    needs = [{"team": "t", "competency": "b", "level": 2, "minimum": 2, "together": "g"}]
    found = find(build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}), cover_needs=needs, places=[place("one")])
    assert (found["p"].needs, found["p"].places) == ((), ())
    assert [(need.competency, need.slots) for need in found["p"].together] == [("b", 1)]
