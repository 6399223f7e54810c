"""Tolerance: the largest number of absences that never breaks anything, and one set just beyond it."""

from __future__ import annotations

from itertools import chain, combinations, product
from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.places.staffing import StaffingResult, compute_staffing
from ontology.analysis.places.tolerance import find_scarce_slots

ROLES = [{"id": r, "label": r} for r in ("ra", "rb")]
REQUIREMENTS = [{"role": "ra", "competency": "a", "level": 2}, {"role": "rb", "competency": "b", "level": 2}]


def staff(rows: Rows, **more: Any) -> StaffingResult:
    return compute_staffing(build_team(rows, roles=ROLES, requirements=REQUIREMENTS, **more), "t", ON)


def place(place_id: str, role: str = "ra", **more: Any) -> dict[str, Any]:
    return {"id": place_id, "team": "t", "role": role} | more


def need(competency: str = "a", **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": 2} | more


def test_needs_alone_give_the_least_spare_depth() -> None:
    rows = build_team_rows(p={"a": 2, "b": 2}, q={"a": 2, "b": 2}, r={"b": 2}, s={"b": 2})
    result = staff(rows, cover_needs=[need("a"), need("b", minimum=2)])
    assert (result.tolerance.needs, result.tolerance.places, result.tolerance.overall) == (1, None, 1)
    assert result.critical_absences == ("p", "q")
    assert (result.pairs_breaking.breaking, result.pairs_breaking.pairs) == (1, 6)


def test_critical_absences_of_a_need_are_one_more_than_it_can_spare() -> None:
    result = staff(build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2}), cover_needs=[need(minimum=2)])
    assert (result.tolerance.overall, result.critical_absences) == (1, ("p", "q"))


def test_places_alone_give_the_least_surplus_of_any_set() -> None:
    """One by one each place has two or three able people; both together have three: 3 - 2 = 1."""
    rows = build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2}, s={})
    result = staff(rows, places=[place("x"), place("y", "rb")])
    assert (result.tolerance.needs, result.tolerance.places, result.tolerance.overall) == (None, 1, 1)
    assert result.critical_absences == ("p", "q")
    assert (result.pairs_breaking.breaking, result.pairs_breaking.pairs) == (3, 6)


def test_set_of_places_can_be_scarcer_than_any_single_place() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2})
    result = staff(rows, places=[place("x"), place("y"), place("z")])
    assert result.tolerance.places == 0
    assert result.critical_absences == ("p",)
    assert (result.pairs_breaking.breaking, result.pairs_breaking.pairs) == (3, 3)


def test_overall_is_the_lesser_of_both() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2})
    result = staff(rows, places=[place("x")], cover_needs=[need(minimum=2)])
    assert (result.tolerance.needs, result.tolerance.places, result.tolerance.overall) == (1, 2, 1)


def test_short_need_makes_overall_unknown_and_is_listed_with_what_is_missing() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2})
    result = staff(rows, cover_needs=[need("a"), need("b", minimum=2)])
    assert (result.tolerance.needs, result.tolerance.overall) == (1, None)
    (broken,) = result.tolerance.broken
    assert (broken.kind, broken.competency, broken.level, broken.missing) == ("need", "b", 2, 2)
    assert result.critical_absences == ("p", "q"), "what holds now can still break"


def test_place_that_nobody_can_fill_leaves_the_others_to_be_judged() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2})
    result = staff(rows, places=[place("x"), place("y", "rb")])
    assert (result.tolerance.places, result.tolerance.overall) == (None, None)
    assert (result.bottleneck.places, result.bottleneck.people) == (("y",), ())
    assert result.critical_absences == ("p", "q")


def test_all_short_leaves_nothing_to_lose() -> None:
    result = staff(build_team_rows(p={}), cover_needs=[need()])
    assert (result.tolerance.needs, result.tolerance.overall, result.critical_absences) == (None, None, ())
    assert (result.pairs_breaking.breaking, result.pairs_breaking.pairs) == (0, 0)


def test_scarce_slots_are_sets_with_the_surplus_they_claim_and_the_least_is_among_them() -> None:
    """All three slots that can be made of three people (Hall 1935: people of a set of slots less its slots)."""
    some_people = list(chain.from_iterable(combinations("pqr", n) for n in range(4)))
    for able in product(some_people, repeat=3):
        found = find_scarce_slots(able)
        for scarce in found:
            people = {person for slot in scarce.slots for person in able[slot]}
            assert (scarce.people, scarce.surplus) == (tuple(sorted(people)), len(people) - len(scarce.slots))
        sets = chain.from_iterable(combinations(range(3), n) for n in (1, 2, 3))
        least = min(len({person for slot in slots for person in able[slot]}) - len(slots) for slots in sets)
        assert min(scarce.surplus for scarce in found) == least
