"""Cross-training fills slots of places and of groups, each by another person, and tells which stay empty."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training
from ontology.analysis.training.training_goals import Holes
from ontology.snapshot.snapshot import Snapshot

ROLES: Rows = {
    "roles": [{"id": "ra", "label": "A"}, {"id": "rb", "label": "B"}, {"id": "none", "label": "None"}],
    "requirements": [
        {"role": "ra", "competency": "a", "level": 2, "unsupervised_level": 1},
        {"role": "rb", "competency": "b", "level": 1},
    ],
}
COURSES = build_course_rows(a1={"hours": 3.0, "gives": {"a": 1}}, b1={"hours": 2.0, "gives": {"b": 1}})


def build(
    people: Rows, *places: tuple[str, str, int], needs: tuple[dict[str, Any], ...] = (), courses: Rows = COURSES
) -> Snapshot:
    """Return a team with places (id, role, count) and needs."""
    rows = [{"id": i, "team": "t", "role": role, "count": count} for i, role, count in places]
    return build_team(people, places=rows, cover_needs=list(needs), **ROLES, **courses)


def build_need(competency: str, minimum: int, **more: Any) -> dict[str, Any]:
    base = {"team": "t", "competency": competency, "level": 1, "minimum": minimum, "target": minimum}
    return base | {"together": "g"} | more


def get_learners(result: CrossTrainingResult) -> list[tuple[str, tuple[str, ...]]]:
    return [(row.person, row.courses) for row in result.learners]


def test_one_person_fills_one_slot_though_able_for_both() -> None:
    snapshot = build(build_team_rows(p={"a": 1, "b": 1}, q={}), ("x", "ra", 1), ("y", "rb", 1))
    result = plan_cross_training(snapshot, "t", ON)
    assert (result.status, result.missing, get_learners(result)) == ("optimal", 0, [("q", ("b1",))])
    assert [row.place for row in result.plan[0].mends] == ["y"]


def test_whoever_stands_on_a_slot_may_move_up_so_that_a_learner_takes_theirs() -> None:
    courses = build_course_rows(
        a1={"hours": 3.0, "gives": {"a": 1}, "asks": {"b": 1}}, b1={"hours": 2.0, "gives": {"b": 1}}
    )
    snapshot = build(build_team_rows(p={"b": 1}, q={}), ("x", "ra", 1), ("y", "rb", 1), courses=courses)
    result = plan_cross_training(snapshot, "t", ON)
    assert (result.missing, get_learners(result)) == (0, [("p", ("a1",)), ("q", ("b1",))])
    assert all(line.mends for line in result.plan)


def test_slots_are_filled_by_those_present_and_needs_count_those_absent_too() -> None:
    snapshot = build(build_team_rows(p={"a": 1}, q={}), ("x", "ra", 1), needs=(build_need("a", 1, together=""),))
    assert plan_cross_training(snapshot, "t", ON).status == "nothing-to-do"
    away = plan_cross_training(snapshot, "t", ON, away=frozenset("p"))
    assert get_learners(away) == [("q", ("a1",))]
    assert plan_cross_training(snapshot, "t", ON, away=frozenset("p"), holes="needs").status == "nothing-to-do"


@pytest.mark.parametrize(
    ("holes", "learners"),
    [("needs", [("q", ("b1",))]), ("places", [("p", ("a1",))]), ("all", [("p", ("a1",)), ("q", ("b1",))])],
)
def test_holes_say_what_is_closed(holes: Holes, learners: list[tuple[str, tuple[str, ...]]]) -> None:
    people = build_team_rows(p={"b": 1}, q={})
    snapshot = build(people, ("x", "ra", 1), needs=(build_need("b", 1, target=2, together=""),))
    result = plan_cross_training(snapshot, "t", ON, holes=holes)
    assert (result.holes, get_learners(result), result.missing) == (holes, learners, 0)


def test_a_group_takes_its_people_from_the_places() -> None:
    snapshot = build(build_team_rows(p={"a": 1}, q={}), ("x", "ra", 1), needs=(build_need("a", 1),))
    result = plan_cross_training(snapshot, "t", ON)
    assert get_learners(result) == [("q", ("a1",))]
    (line,) = result.plan
    assert [(row.place, row.competency) for row in line.mends] == [("x", None), (None, "a")]


def test_empty_slots_are_told_with_people_missing_and_add_up() -> None:
    people = build_team_rows(p={"a": 1})
    snapshot = build(people, ("x", "ra", 2), ("z", "none", 1), needs=(build_need("b", 2, target=3),))
    result = plan_cross_training(snapshot, "t", ON)
    told = [(row.kind, row.place, row.role, row.competency, row.together, row.missing) for row in result.unmet]
    assert told == [
        ("need", None, None, "b", None, 2),
        ("place", "x", "ra", None, None, 1),
        ("place", "z", "none", None, None, 1),
        ("together", None, None, "b", "g", 2),
    ]
    assert result.missing == 6
    assert result.status == "unreachable"
    assert "4 slots to be filled at once, for which 1 person present is or could become able." in result.unmet[1].reason
    assert result.unmet[2].reason == "Its role has no requirements, so nobody counts as able."


def test_the_same_slots_stay_empty_as_in_staffing() -> None:
    snapshot = build(build_team_rows(p={"a": 1, "b": 1}), ("x", "ra", 1), ("y", "rb", 1), courses={})
    result = plan_cross_training(snapshot, "t", ON)
    assert [row.place for row in result.unmet] == list(compute_staffing(snapshot, "t", ON).unfilled) == ["y"]


def test_an_empty_slot_without_a_course_tells_why() -> None:
    snapshot = build(build_team_rows(p={}, q={}), ("x", "ra", 1), courses={})
    (row,) = plan_cross_training(snapshot, "t", ON).unmet
    assert "For p, q: No course teaches A (a) at level 1." in row.reason


def test_an_empty_slot_that_a_limit_leaves_names_the_limit() -> None:
    snapshot = build(build_team_rows(p={}), ("x", "ra", 1))
    (row,) = plan_cross_training(snapshot, "t", ON, hours_limit=1.0).unmet
    assert row.reason == "The limit of 1 hours a person leaves no room for more."


def test_nobody_present_is_a_reason() -> None:
    snapshot = build(build_team_rows(p={"a": 1}), ("x", "ra", 1))
    (row,) = plan_cross_training(snapshot, "t", ON, away=frozenset("p")).unmet
    assert row.reason == "Nobody of the team is present."


@pytest.mark.parametrize(("criticality", "course"), [(2, "a1"), (4, "b1")])
def test_a_slot_of_a_group_weighs_its_need_and_a_place_three(criticality: int, course: str) -> None:
    need = build_need("b", 1, criticality=criticality)
    snapshot = build(build_team_rows(p={}), ("x", "ra", 1), needs=(need,))
    result = plan_cross_training(snapshot, "t", ON, weigh_criticality=True, holes="places")
    assert get_learners(result) == [("p", (course,))]
    assert result.missing == 1


@pytest.mark.parametrize(("criticality", "kind"), [(1, "together"), (5, "place")])
def test_whoever_could_fill_two_slots_stands_on_the_heavier(criticality: int, kind: str) -> None:
    need = build_need("b", 1, criticality=criticality)
    snapshot = build(build_team_rows(p={"a": 1, "b": 1}), ("x", "ra", 1), needs=(need,), courses={})
    result = plan_cross_training(snapshot, "t", ON, weigh_criticality=True, holes="places")
    assert [row.kind for row in result.unmet] == [kind]


def test_a_need_of_each_shift_tells_its_empty_slots_by_shift() -> None:
    shifts = [{"id": s, "team": "t", "label": s} for s in ("s1", "s2")]
    people = build_team_rows(p={}, q={})
    for row, shift in zip(people["people"], ("s1", "s2"), strict=True):
        row["shift"] = shift
    need = build_need("c", 1, applies="each-shift")
    snapshot = build_team(people, cover_needs=[need], shifts=shifts, **ROLES)
    (row,) = plan_cross_training(snapshot, "t", ON, holes="places").unmet
    assert (row.applies, row.shift, row.missing) == ("each-shift", None, 2)
    assert [(part.shift, part.missing) for part in row.shifts] == [("s1", 1), ("s2", 1)]


def test_a_wished_tolerance_is_for_what_the_holes_name() -> None:
    need = build_need("b", 1, together="")
    snapshot = build(build_team_rows(p={"a": 1}, q={"b": 1}, r={}), ("x", "ra", 1), needs=(need,))
    hours = {holes: plan_cross_training(snapshot, "t", ON, tolerance=1, holes=holes).study_hours for holes in HOLES}
    assert hours == {"needs": 2.0, "places": 3.0, "all": 5.0}


HOLES: tuple[Holes, ...] = ("needs", "places", "all")


def test_who_can_fill_one_slot_of_a_set_counts_whatever_they_would_have_to_learn_for_another() -> None:
    """The choice that makes "p" able for the place is number 1 of the whole problem, and 1 is no True."""
    able = {"a": 1, "b": 2}
    rows = build_team_rows(p={"a": 1}, q=able, r=able, s={})
    rows["roles"] = [{"id": "job", "label": "Job"}]
    rows["requirements"] = [{"role": "job", "competency": i, "level": level} for i, level in able.items()]
    rows["places"] = [{"id": "post", "team": "t", "role": "job"}]
    rows["courses"] = [{"id": f"k{i}", "label": i, "hours": 1.0} for i in "ab"]
    rows["outcomes"] = [{"course": f"k{i}", "competency": i, "level": level} for i, level in able.items()]
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 1, "minimum": 2, "target": 2, "together": "g"}]
    result = plan_cross_training(build_team(rows), "t", ON, tolerance=1)
    assert [(row.person, row.courses) for row in result.learners] == [("s", ("ka",))]
    assert (result.status, result.is_proved, result.lower_bound) == ("optimal", True, 1.0)
