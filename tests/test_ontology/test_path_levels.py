"""A learning path to the levels of the first day, and one that holds the courses of the way that was chosen."""

from __future__ import annotations

from datetime import date

import pytest
from path_cases import NOBODY, build_company, get_ids
from scenario import load_scenario

from ontology.analysis.paths.learning_path import find_learning_path, get_targets
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import Profile
from ontology.errors import InputError

ASKED = [
    {"role": "r", "competency": "a", "level": 2, "entry_level": 1, "weight": 2},
    {"role": "r", "competency": "b", "level": 1, "necessity": "desirable"},
]
#: a:1 takes 5 h, a:2 4 h more; b 3 h after a:1, or 20 h; nothing gives c.
ROLE = build_company(
    ("x1", 5, "", "a"), ("x2", 4, "a", "a:2"), ("x3", 3, "a", "b"), ("x4", 20, "", "b"), ("x5", 1, "c", "b"),
    requirements=ASKED,
)  # fmt: skip


def test_the_levels_of_the_first_day_are_the_targets_and_the_rows_say_so() -> None:
    full, entry = (find_learning_path(ROLE, NOBODY, "r", levels=levels) for levels in ("full", "entry"))
    assert (get_ids(full), full.targets, full.study_hours) == (["x1", "x2"], {"a": 2}, 9)
    assert (get_ids(entry), entry.targets, entry.study_hours) == (["x1"], {"a": 1}, 5)
    assert [(row.level, row.reached, row.state) for row in entry.requirements] == [
        (1, 1, "reached"),
        (1, 0, "not-asked"),
    ]
    assert entry.is_target_reached
    assert get_targets(ROLE, "r", with_desirable=True, levels="entry") == {"a": 1, "b": 1}


def test_readiness_and_standing_speak_of_the_whole_role_whatever_the_levels() -> None:
    entry = find_learning_path(ROLE, NOBODY, "r", levels="entry")
    # half of weight 2, of 5 in all
    assert (entry.readiness_before, entry.readiness_after, entry.standing_after) == (0, 0.2, "may-start")


def test_nothing_has_to_be_learned_where_the_first_day_asks_no_more() -> None:
    entry = find_learning_path(ROLE, Profile({"a": 1}), "r", levels="entry")
    assert (entry.status, entry.courses) == ("nothing-to-do", ())


def test_included_courses_are_the_paths_own_and_counted() -> None:
    path = find_learning_path(ROLE, NOBODY, "r", levels="entry", include={"x4"})
    assert (path.order, get_ids(path)) == (("x1", "x4"), ["x1", "x4"])
    assert (path.study_hours, path.lower_bound, path.booked, path.booked_hours) == (25, 25, (), 0)
    assert (path.status, path.weeks, path.months) == ("optimal", 25 / 4, 25 / 4 * 12 / 52)


def test_a_path_goes_on_from_what_is_included() -> None:
    # x2 alone would do for level 2; x1 makes it possible
    path = find_learning_path(ROLE, NOBODY, "r", include={"x2"})
    assert (get_ids(path), path.study_hours, path.lower_bound) == (["x1", "x2"], 9, 9)


def test_included_courses_count_in_the_unit_of_the_aim() -> None:
    path = find_learning_path(ROLE, NOBODY, "r", minimise="courses", include={"x4"})
    assert (get_ids(path), path.lower_bound) == (["x1", "x4", "x2"], 3)


def test_an_included_course_where_nothing_else_is_to_do_makes_a_plan() -> None:
    path = find_learning_path(ROLE, Profile({"a": 1}), "r", levels="entry", include={"x3"})
    assert (path.status, get_ids(path), path.study_hours) == ("optimal", ["x3"], 3)


def test_an_included_course_that_brings_nothing_is_left_out_and_told() -> None:
    path = find_learning_path(ROLE, Profile({"a": 1}), "r", include={"x1"})
    assert (path.order, path.study_hours) == (("x2",), 4)
    assert path.remarks == ("X1 is left out: it brings nothing that is not held already.",)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"include": {"x5"}}, "X5 cannot be taken on this path: it waits for c at level 1."),
        ({"include": {"x1"}, "exclude": {"x1"}}, "A course cannot be excluded and included: x1."),
        ({"include": {"x1"}, "max_hours": 9}, "Courses are included whatever they take: leave the budget out."),
    ],
)
def test_what_cannot_be_included_is_refused_by_name(options: dict[str, object], said: str) -> None:
    with pytest.raises(InputError) as caught:
        find_learning_path(ROLE, NOBODY, "r", **options)  # type: ignore[arg-type]
    assert (caught.value.detail, caught.value.context["parameter"]) == (said, "include")


def test_the_move_of_the_demonstration_takes_less_than_half_of_the_whole_role() -> None:
    snapshot = load_scenario()
    (person,) = [row.id for row in snapshot.people.values() if row.name == "Mirela Tanaka"]
    on = date(2026, 11, 24)
    hours = [
        find_person_path(snapshot, person, "treatment-operator", on, levels=levels).study_hours
        for levels in ("full", "entry")
    ]
    assert hours == [326, 154]
