"""Cross-training plans for places: what a place asks and weighs, and a wished tolerance of sets of them."""

from __future__ import annotations

from typing import Any

import pytest
from cross_training_cases import get_lines, need
from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.training.cross_training import plan_cross_training

PLACES: Rows = {
    "roles": [{"id": "ra", "label": "ra"}, {"id": "rb", "label": "rb"}],
    "requirements": [{"role": "ra", "competency": "a", "level": 2}, {"role": "rb", "competency": "b", "level": 2}],
    "places": [{"id": "one", "team": "t", "role": "ra"}, {"id": "two", "team": "t", "role": "rb"}],
}


def test_wished_tolerance_is_for_sets_of_places_not_single_ones() -> None:
    """Each place has two able people, but both together only three: one absence is fine, two are not."""
    rows = build_team_rows(p={"a": 2}, q={"a": 2, "b": 2}, r={"b": 2}, s={})
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}}, b2={"hours": 2.0, "gives": {"b": 2}})
    one = plan_cross_training(build_team(rows, **PLACES, **courses), "t", ON, tolerance=1)
    assert one.status == "nothing-to-do"
    two = plan_cross_training(build_team(rows, **PLACES, **courses), "t", ON, tolerance=2)
    assert (two.status, two.study_hours) == ("optimal", 5.0)
    assert get_lines(two) == [("p", "b", 2, ("b2",)), ("s", "a", 2, ("a2",))]


def test_tolerance_out_of_reach_names_the_places_and_the_number_of_people() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2, "b": 2})
    courses = build_course_rows(b2={"hours": 2.0, "gives": {"b": 2}})
    result = plan_cross_training(build_team(rows, **PLACES, **courses), "t", ON, tolerance=1)
    assert (result.status, result.missing) == ("unreachable", 1)
    (row,) = result.unmet_places
    assert (row.places, row.missing) == (("one", "two"), 1)


def test_tolerance_counts_who_is_present_and_asks_for_minimum_and_spare() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={}, s={})
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    snapshot = build_team(rows, cover_needs=[need(minimum=1, target=4)], **courses)
    assert plan_cross_training(snapshot, "t", ON, tolerance=1).status == "nothing-to-do"
    away = plan_cross_training(snapshot, "t", ON, tolerance=1, away=frozenset({"p"}))
    assert get_lines(away) == [("r", "a", 2, ("a2",))]
    assert plan_cross_training(snapshot, "t", ON, away=frozenset({"p"})).study_hours == 6.0


def build_place_team(rows: Rows, role_levels: dict[str, Any] | None, courses: Rows, **more: Any) -> Any:
    """Return a team with one place, of a role that asks competency a at these levels, or asks nothing."""
    asked = [] if role_levels is None else [{"role": "ra", "competency": "a"} | role_levels]
    places = [{"id": "one", "team": "t", "role": "ra"}]
    return build_team(rows, roles=[{"id": "ra", "label": "ra"}], requirements=asked, places=places, **courses, **more)


def test_a_place_asks_the_unsupervised_level_of_those_who_learn() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}}, a4={"hours": 30.0, "gives": {"a": 4}})
    levels = {"level": 4, "unsupervised_level": 2, "entry_level": 1}
    result = plan_cross_training(build_place_team(build_team_rows(p={}), levels, courses), "t", ON, tolerance=0)
    assert (result.status, get_lines(result)) == ("optimal", [("p", "a", 2, ("a2",))])


def test_nobody_learns_to_be_able_for_a_role_that_asks_nothing() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    result = plan_cross_training(build_place_team(build_team_rows(p={}), None, courses), "t", ON, tolerance=0)
    assert (result.status, result.missing, result.plan) == ("unreachable", 1, ())


@pytest.mark.parametrize(("criticality", "course"), [(2, "a2"), (4, "c2")])
def test_a_place_weighs_as_much_as_a_need_of_middle_criticality(criticality: int, course: str) -> None:
    courses = build_course_rows(a2={"hours": 6.0, "gives": {"a": 2}}, c2={"hours": 6.0, "gives": {"c": 2}})
    needs = [need("c", criticality=criticality)]
    team = build_place_team(build_team_rows(p={}), {"level": 2}, courses, cover_needs=needs)
    result = plan_cross_training(team, "t", ON, tolerance=0, hours_limit=6.0, weigh_criticality=True)
    assert [row.courses for row in result.learners] == [(course,)]
    assert result.missing == 1


def test_a_line_names_the_place_it_helps_to_man() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    result = plan_cross_training(build_place_team(build_team_rows(p={}), {"level": 2}, courses), "t", ON, tolerance=0)
    assert [[mended.place for mended in line.mends] for line in result.plan] == [["one"]]
