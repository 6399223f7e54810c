"""Learning paths: cheapest sets of courses, ties, order, renewals, reasons."""

from __future__ import annotations

from typing import Any

import networkx as nx
import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import build_path_graph, find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

NOBODY = Profile({})


def build_courses(*rows: tuple[str, float, str, str], **more: Any) -> Snapshot:
    """Return a company whose courses are (id, hours, "entry conditions", "outcomes"); levels stand after a colon.

    An outcome with a ! renews. Competencies a to f are skills, z is a certificate.
    """
    courses, conditions, outcomes = [], [], []
    for course, hours, asked, given in rows:
        courses.append({"id": course, "label": course.upper(), "hours": hours} | more.get(course, {}))
        for text in asked.split():
            competency, _, level = text.partition(":")
            conditions.append({"course": course, "competency": competency, "level": int(level or 1)})
        for text in given.split():
            competency, _, level = text.rstrip("!").partition(":")
            outcomes.append(
                {"course": course, "competency": competency, "level": int(level or 1), "renews": text.endswith("!")}
            )
    return build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a b c d e f"), *build_competencies("z", kind="certificate")],
        courses=courses,
        entry_conditions=conditions,
        outcomes=outcomes,
        roles=[{"id": "r", "label": "R"}, {"id": "bare", "label": "Bare"}],
        requirements=more.get("requirements", []),
    )


def get_ids(result: Any) -> list[str]:
    return [course.id for course in result.courses]


def test_a_shared_course_counts_once() -> None:
    company = build_courses(("base", 10, "", "a"), ("b", 1, "a", "b"), ("c", 1, "a", "c"), ("bc", 13, "", "b c"))
    result = find_path_to_levels(company, NOBODY, {"b": 1, "c": 1})
    assert (result.status, result.study_hours, get_ids(result)) == ("optimal", 12, ["base", "b", "c"])
    assert result.lower_bound == 12


def test_courses_stand_in_an_order_one_can_take() -> None:
    company = build_courses(("x1", 1, "b", "c"), ("x2", 1, "a", "b"), ("x3", 1, "", "a"))
    assert get_ids(find_path_to_levels(company, NOBODY, {"c": 1})) == ["x3", "x2", "x1"]


def test_a_course_reaches_its_level_from_any_level_below() -> None:
    company = build_courses(("jump", 5, "", "a:4"), ("step", 2, "", "a:2"))
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 4})) == ["jump"]
    assert get_ids(find_path_to_levels(company, Profile({"a": 2}), {"a": 3})) == ["jump"]


def test_a_higher_outcome_serves_a_lower_target_and_condition() -> None:
    company = build_courses(("x1", 3, "", "a:4"), ("x2", 1, "a:2", "b"))
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 1, "b": 1})) == ["x1", "x2"]


@pytest.mark.parametrize(
    ("minimise", "expected", "bound"),
    [("hours", ["cheap-time"], 4), ("cost", ["cheap-money"], 1), ("courses", ["cheap-time"], 1)],
)
def test_each_aim_picks_its_own_path(minimise: Any, expected: list[str], bound: float) -> None:
    company = build_courses(
        ("cheap-time", 4, "", "a"),
        ("cheap-money", 9, "", "a"),
        **{"cheap-time": {"cost": 50.0}, "cheap-money": {"cost": 1.0}},
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1}, minimise=minimise)
    assert (get_ids(result), result.lower_bound) == (expected, bound)


def test_equal_hours_are_settled_by_cost_then_number_then_ids() -> None:
    by_cost = build_courses(("x1", 4, "", "a"), ("x2", 4, "", "a"), x1={"cost": 2.0}, x2={"cost": 1.0})
    assert get_ids(find_path_to_levels(by_cost, NOBODY, {"a": 1})) == ["x2"]
    by_number = build_courses(("x1", 2, "", "a"), ("x2", 2, "", "b"), ("x3", 4, "", "a b"))
    assert get_ids(find_path_to_levels(by_number, NOBODY, {"a": 1, "b": 1})) == ["x3"]
    by_ids = build_courses(("x2", 4, "", "a"), ("x1", 4, "", "a"), ("x10", 4, "", "a"))
    assert get_ids(find_path_to_levels(by_ids, NOBODY, {"a": 1})) == ["x1"]


def test_sums_are_exact_in_minutes_and_cents() -> None:
    # 0.1 + 0.2 against 0.3: equal in minutes, so the number of courses decides
    company = build_courses(("x1", 0.1, "", "a"), ("x2", 0.2, "", "b"), ("x3", 0.3, "", "a b"))
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1})
    assert (get_ids(result), result.study_hours) == (["x3"], 0.3)
    money = build_courses(
        ("x1", 1, "", "a"),
        ("x2", 1, "", "b"),
        ("x3", 2, "", "a b"),
        x1={"cost": 0.1},
        x2={"cost": 0.2},
        x3={"cost": 0.3},
    )
    assert find_path_to_levels(money, NOBODY, {"a": 1, "b": 1}, minimise="cost").cost == 0.3


def test_nothing_to_do_is_0_hours_without_courses() -> None:
    company = build_courses(("x1", 1, "", "a"))
    result = find_path_to_levels(company, Profile({"a": 3}), {"a": 3})
    assert (result.status, result.study_hours, result.cost, result.courses) == ("nothing-to-do", 0, 0, ())
    assert result.lower_bound == 0
    assert find_path_to_levels(company, NOBODY, {}).status == "nothing-to-do"


def test_a_renewing_outcome_is_only_for_those_who_lost_it_lately() -> None:
    company = build_courses(("full", 20, "", "z:2"), ("refresh", 2, "", "z:2!"))
    lost = Profile({}, renewable={"z": 2})
    assert get_ids(find_path_to_levels(company, lost, {"z": 2})) == ["refresh"]
    assert get_ids(find_path_to_levels(company, NOBODY, {"z": 2})) == ["full"]
    assert get_ids(find_path_to_levels(company, Profile({}, renewable={"z": 1}), {"z": 2})) == ["full"]
    assert find_path_to_levels(company, Profile({"z": 2}), {"z": 2}).status == "nothing-to-do"


def test_a_dropped_renewal_leaves_the_other_outcomes_of_the_course() -> None:
    company = build_courses(("both", 3, "", "z! a:2"))
    result = find_path_to_levels(company, NOBODY, {"a": 2, "z": 1})
    assert (result.status, get_ids(result)) == ("unreachable", ["both"])
    assert result.courses[0].serves == ("a",)
    assert [(row.competency, row.level) for row in result.unreachable] == [("z", 1)]
    assert "refresher" in result.unreachable[0].reason


def test_unreachable_targets_are_named_and_the_rest_is_planned() -> None:
    company = build_courses(("x1", 3, "", "a"), ("x2", 1, "c:2", "b"))
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1, "d": 2})
    assert (result.status, result.study_hours, get_ids(result), result.lower_bound) == ("unreachable", 3, ["x1"], 3)
    reasons = {row.competency: row.reason for row in result.unreachable}
    assert reasons["b"] == "Course X2 (x2) would reach it but waits for C (c) at level 2, which no course teaches."
    assert reasons["d"] == "No course teaches D (d) at level 2."


def test_the_root_of_what_cannot_be_reached_is_named() -> None:
    company = build_courses(("x1", 1, "b", "a"), ("x2", 1, "c", "b"))
    result = find_path_to_levels(company, NOBODY, {"a": 1})
    assert "x2 waits for c at level 1, which no course teaches" in result.unreachable[0].reason


def test_courses_that_wait_for_each_other_are_unreachable_and_said_so() -> None:
    company = build_courses(("x1", 1, "b", "a"), ("x2", 1, "a", "b"))
    result = find_path_to_levels(company, NOBODY, {"a": 1})
    assert (result.status, result.courses) == ("unreachable", ())
    assert "which waits for itself" in result.unreachable[0].reason
    assert find_path_to_levels(company, Profile({"b": 1}), {"a": 1}).status == "optimal"


def test_a_level_above_every_course_says_how_far_they_reach() -> None:
    company = build_courses(("x1", 1, "", "a:2"))
    reason = find_path_to_levels(company, NOBODY, {"a": 4}).unreachable[0].reason
    assert reason == "No course teaches A (a) at level 4 (the highest level taught is 2)."


def test_serves_and_enables_say_what_a_course_is_for() -> None:
    company = build_courses(("x1", 1, "", "a:2"), ("x2", 1, "a:2", "b"), ("x3", 1, "b", "c d"), ("x4", 1, "", "e"))
    result = find_path_to_levels(company, NOBODY, {"a": 1, "c": 1, "d": 1, "e": 1})
    facts = {course.id: (course.serves, course.enables) for course in result.courses}
    assert facts == {
        "x1": (("a", "c", "d"), ("x2",)),
        "x2": (("c", "d"), ("x3",)),
        "x3": (("c", "d"), ()),
        "x4": (("e",), ()),
    }


REQUIREMENTS = [
    {"role": "r", "competency": "a", "level": 2, "entry_level": 1, "necessity": "blocking"},
    {"role": "r", "competency": "b", "level": 1},
    {"role": "r", "competency": "c", "level": 1, "necessity": "desirable"},
]


def test_targets_of_a_role_are_its_full_levels_and_desirable_ones_when_asked() -> None:
    company = build_courses(
        ("x1", 1, "", "a:1"), ("x2", 5, "", "a:2"), ("x3", 1, "", "b"), ("x4", 1, "", "c"), requirements=REQUIREMENTS
    )
    result = find_learning_path(company, NOBODY, "r", unassessed=frozenset({"b", "c", "f"}))
    assert get_ids(result) == ["x2", "x3"]
    assert result.assess_first == ("b",)
    assert get_ids(find_learning_path(company, NOBODY, "r", with_desirable=True)) == ["x2", "x3", "x4"]


def test_role_without_requirements_is_nothing_to_do_with_a_remark() -> None:
    result = find_learning_path(build_courses(), NOBODY, "bare")
    assert (result.status, len(result.remarks)) == ("nothing-to-do", 1)


def test_unknown_ids_and_aims_are_refused() -> None:
    company = build_courses()
    with pytest.raises(UnknownIdError):
        find_learning_path(company, NOBODY, "nobody")
    with pytest.raises(UnknownIdError):
        find_path_to_levels(company, NOBODY, {"nothing": 1})
    with pytest.raises(InputError):
        find_path_to_levels(company, NOBODY, {"a": 1}, minimise="fun")  # type: ignore[arg-type]


def test_courses_show_cost_and_coach_hours() -> None:
    company = build_courses(("x1", 2.5, "", "a"), x1={"cost": 12.5, "coach_hours": 4.0})
    (course,) = find_path_to_levels(company, NOBODY, {"a": 1}).courses
    assert (course.study_hours, course.cost, course.coach_hours) == (2.5, 12.5, 4.0)


def test_path_graph_holds_courses_levels_and_how_they_hang_together() -> None:
    company = build_courses(("x1", 1, "a", "b:2"), ("x2", 1, "b", "c"))
    profile = Profile({"a": 1})
    graph = build_path_graph(company, profile, find_path_to_levels(company, profile, {"c": 1, "d": 1}))
    edges = {(u, v): kind for u, v, kind in graph.edges(data="kind")}
    assert edges == {
        (("level", "a", "1"), ("course", "x1")): "asked-by",
        (("course", "x1"), ("level", "b", "1")): "reaches",
        (("level", "b", "1"), ("course", "x2")): "asked-by",
        (("course", "x2"), ("level", "c", "1")): "reaches",
    }
    assert graph.nodes["level", "a", "1"]["is_held"]
    assert graph.nodes["level", "c", "1"]["is_target"]
    assert not graph.nodes["level", "d", "1"]["is_reachable"]
    assert nx.is_directed_acyclic_graph(graph)


def test_path_graph_counts_positions_from_one_and_a_target_asked_for_stays_a_target() -> None:
    company = build_courses(("x1", 1, "", "a"), ("x2", 1, "a", "b"))
    graph = build_path_graph(company, NOBODY, find_path_to_levels(company, NOBODY, {"a": 1, "b": 1}))
    assert [graph.nodes["course", i]["position"] for i in ("x1", "x2")] == [1, 2]
    levels = [graph.nodes["level", i, "1"] for i in "ab"]
    assert [(level["is_target"], level["is_reachable"]) for level in levels] == [(True, True), (True, True)]


def test_least_cost_is_settled_by_hours_before_the_number_of_courses() -> None:
    company = build_courses(
        ("x1", 1, "", "a"),
        ("x2", 1, "", "b"),
        ("x3", 9, "", "a b"),
        x1={"cost": 5.0},
        x2={"cost": 5.0},
        x3={"cost": 10.0},
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1}, minimise="cost")
    assert (get_ids(result), result.cost, result.study_hours) == (["x1", "x2"], 10, 2)


def test_a_course_enables_nothing_by_a_level_that_is_held_already() -> None:
    company = build_courses(("x1", 1, "", "a:2 b"), ("x2", 1, "a", "c"))
    facts = [
        {course.id: (course.serves, course.enables) for course in find_path_to_levels(company, p, wanted).courses}
        for p, wanted in ((Profile({"a": 1}), {"b": 1, "c": 1}), (NOBODY, {"b": 1, "c": 1}))
    ]
    assert facts[0] == {"x1": (("b",), ()), "x2": (("c",), ())}
    assert facts[1] == {"x1": (("b", "c"), ("x2",)), "x2": (("c",), ())}


def test_a_condition_that_courses_just_reach_is_no_reason() -> None:
    company = build_courses(("x1", 1, "", "a:2"), ("x2", 1, "a:2 c:2", "b"))
    reason = find_path_to_levels(company, NOBODY, {"b": 1}).unreachable[0].reason
    assert reason == "Course X2 (x2) would reach it but waits for C (c) at level 2, which no course teaches."


def test_the_highest_of_several_levels_taught_is_named() -> None:
    company = build_courses(("x1", 1, "", "a:2"), ("x2", 1, "", "a:3"), ("x3", 1, "", "a:1"))
    reason = find_path_to_levels(company, NOBODY, {"a": 4}).unreachable[0].reason
    assert reason == "No course teaches A (a) at level 4 (the highest level taught is 3)."


def test_a_condition_that_only_a_refresher_reaches_is_said_so() -> None:
    company = build_courses(("x1", 1, "z:2", "a"), ("x2", 1, "", "z:2!"), ("x3", 1, "c:2", "b"), ("x4", 1, "", "c"))
    reasons = {row.competency: row.reason for row in find_path_to_levels(company, NOBODY, {"a": 1, "b": 1}).unreachable}
    assert "which only a refresher for its present or recent holders reaches" in reasons["a"]
    assert reasons["b"].endswith("C (c) at level 2, which no course teaches.")


def test_hours_are_the_nearest_whole_minutes() -> None:
    company = build_courses(("x1", 0.33, "", "a"))
    assert find_path_to_levels(company, NOBODY, {"a": 1}).study_hours == 20 / 60
