"""Who could be lent at once, worked out by hand where needs and slots bind together."""

from __future__ import annotations

from typing import Any

from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.holding import build_holding
from ontology.analysis.places.lending import Lending, find_lendable


def find(rows: dict[str, list[dict[str, Any]]], people: str, **more: Any) -> tuple[str, ...]:
    return find_lendable(build_holding(get_presence(build_team(rows, **more), "t", ON)), people)


def need(competency: str, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": 1} | more


def test_taking_the_first_who_can_go_is_not_always_the_most() -> None:
    """p can go alone, or q and r: p is in both needs, each of which has one to spare."""
    rows = build_team_rows(p={"a": 1, "b": 1}, q={"a": 1}, r={"b": 1})
    assert find(rows, "pqr", cover_needs=[need("a"), need("b")]) == ("q", "r")
    assert find(rows, "pq", cover_needs=[need("a"), need("b")]) == ("p",)


def test_needs_and_slots_bind_together() -> None:
    """One of p, q, r can leave the places, one of p and s the need: q and s, not p alone."""
    rows = build_team_rows(p={"a": 1, "b": 1}, q={"a": 1}, r={"a": 1}, s={"b": 1})
    more: dict[str, Any] = {
        "roles": [{"id": "hand", "label": "Hand"}],
        "requirements": [{"role": "hand", "competency": "a", "level": 1}],
        "places": [{"id": "post", "team": "t", "role": "hand", "count": 2}],
    }
    assert find(rows, "pqrs", cover_needs=[need("b")], **more) == ("q", "s")
    assert find(rows, "pqr", cover_needs=[need("b")], **more) == ("p",)
    assert find(rows, "qrs", cover_needs=[need("b")], **more) == ("q", "s")


def test_of_several_largest_sets_the_one_whose_ids_come_first_is_named() -> None:
    """Three needs with one to spare each: o is in all of them, and of each two others are left: one may go."""
    rows = build_team_rows(
        o={"a": 1, "b": 1, "c": 1}, s={"a": 1}, t={"b": 1}, u={"c": 1}, v={"a": 1}, w={"b": 1}, x={"c": 1}
    )
    needs = [need(c, minimum=2) for c in "abc"]
    assert find(rows, "ostuvwx", cover_needs=needs) == ("s", "t", "u")


def test_of_needs_with_the_same_people_the_one_with_least_to_spare_binds() -> None:
    rows = build_team_rows(p={"a": 1, "b": 1}, q={"a": 1, "b": 1}, r={"a": 1, "b": 1})
    assert find(rows, "pqr", cover_needs=[need("a", minimum=2), need("b")]) == ("p",)


def test_need_that_is_short_already_keeps_nobody() -> None:
    assert find(build_team_rows(p={"a": 1}), "p", cover_needs=[need("a", minimum=2)]) == ("p",)
    rows = build_team_rows(p={"a": 1, "b": 1}, q={"a": 1, "c": 1}, r={"b": 1})
    assert find(rows, "pqr", cover_needs=[need("a"), need("b"), need("c", minimum=5)]) == ("q", "r")


def test_team_of_which_nothing_is_asked_lends_everyone() -> None:
    assert Lending(lambda _: None).find("t", ["q", "p"]) == ("p", "q")
