"""Moves into roles: preparation, limits, growth, and the graph of moves within reach."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.pace import compute_months
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.moves import find_reachable_roles, grow
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot


def build_company(requirements: list[dict[str, Any]], *courses: tuple[str, float, str, int]) -> Snapshot:
    """Return a company with the roles and skills named in the requirements; courses are (id, hours, skill, level)."""
    roles = sorted({row["role"] for row in requirements})
    return build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a b c"), *build_competencies("z", kind="certificate")],
        roles=[{"id": role, "label": role.upper()} for role in [*roles, "bare"]],
        requirements=requirements,
        courses=[{"id": course, "label": course, "hours": hours} for course, hours, _, _ in courses],
        outcomes=[{"course": course, "competency": i, "level": level} for course, _, i, level in courses],
    )


def test_a_move_asks_entry_levels_of_blocking_and_essential_requirements() -> None:
    company = build_company(
        [
            {"role": "r", "competency": "a", "level": 4, "entry_level": 1, "necessity": "blocking"},
            {"role": "r", "competency": "b", "level": 2},
            {"role": "r", "competency": "c", "level": 1, "necessity": "desirable"},
        ],
        ("x1", 3, "a", 1),
        ("x2", 30, "a", 4),
        ("x3", 5, "b", 2),
        ("x4", 7, "c", 1),
    )
    (role,) = find_reachable_roles(company, Profile({})).roles
    assert (role.id, role.study_hours, role.within_reach, role.standing) == ("r", 8, True, "none")
    assert role.months == pytest.approx(8 / 4 / (52 / 12))


def test_preparation_at_the_limit_is_within_reach_and_a_minute_more_is_not() -> None:
    company = build_company([{"role": "r", "competency": "a", "level": 1}], ("x1", 10, "a", 1))
    (role,) = find_reachable_roles(company, Profile({}), preparation_limit=10).roles
    assert role.within_reach
    (role,) = find_reachable_roles(company, Profile({}), preparation_limit=10 - 1 / 60).roles
    assert not role.within_reach
    (broken,) = role.broken_limits
    assert (broken.limit, broken.competency, broken.needed) == ("preparation", None, 10)


def test_level_limit_counts_steps_above_the_profile_certificates_apart() -> None:
    company = build_company(
        [
            {"role": "r", "competency": "a", "level": 4},
            {"role": "r", "competency": "z", "level": 5, "necessity": "blocking"},
        ],
        ("x1", 1, "a", 4),
        ("x2", 1, "z", 5),
    )
    (role,) = find_reachable_roles(company, Profile({"a": 1})).roles
    assert [(b.limit, b.competency, b.allowed, b.needed) for b in role.broken_limits] == [("level", "a", 2, 3)]
    (role,) = find_reachable_roles(company, Profile({"a": 2})).roles
    assert role.within_reach
    (role,) = find_reachable_roles(company, Profile({"a": 1}), level_limit=3).roles
    assert role.within_reach


def test_no_course_means_no_hours_and_not_within_reach() -> None:
    company = build_company([{"role": "r", "competency": "a", "level": 1}])
    (role,) = find_reachable_roles(company, Profile({})).roles
    assert (role.study_hours, role.months, role.within_reach, role.broken_limits) == (None, None, False, ())


def test_roles_are_sorted_by_reach_then_hours_then_id_without_present_or_bare_ones() -> None:
    company = build_company(
        [
            {"role": "far", "competency": "c", "level": 1},
            {"role": "big", "competency": "b", "level": 1},
            {"role": "r2", "competency": "a", "level": 1},
            {"role": "r1", "competency": "a", "level": 1},
            {"role": "now", "competency": "a", "level": 1},
            {"role": "lost", "competency": "a", "level": 1},
            {"role": "lost", "competency": "z", "level": 1},
        ],
        ("x1", 1, "a", 1),
        ("x2", 250, "b", 1),
        ("x3", 201, "c", 1),
    )
    result = find_reachable_roles(company, Profile({}, role="now"))
    assert [role.id for role in result.roles] == ["r1", "r2", "far", "big", "lost"]
    assert result.status == "optimal"


def test_growth_brings_what_is_learned_on_the_job_and_never_certificates() -> None:
    company = build_company(
        [
            {"role": "r", "competency": "a", "level": 4, "entry_level": 1},
            {"role": "r", "competency": "b", "level": 3, "learned_on_job": False},
            {"role": "r", "competency": "c", "level": 2, "necessity": "desirable", "learned_on_job": True},
            {"role": "r", "competency": "z", "level": 2, "learned_on_job": True},
        ]
    )
    assert grow(company, {"a": 5, "b": 1}, "r") == {"a": 5, "b": 1, "c": 2}
    assert grow(company, {}, "r") == {"a": 4, "c": 2}


def test_months_are_weeks_of_study_by_52_twelfths() -> None:
    assert compute_months(0, 0.0) == 0
    assert compute_months(60, 0.0) is None
    assert compute_months(26 * 60, 2.0) == 3


def test_limits_below_zero_are_refused() -> None:
    company = build_company([{"role": "r", "competency": "a", "level": 1}])
    for limits in ({"preparation_limit": -1.0}, {"preparation_limit": float("nan")}, {"level_limit": -1}):
        with pytest.raises(InputError):
            find_reachable_roles(company, Profile({}), **limits)  # type: ignore[arg-type]


def test_role_graph_holds_the_moves_within_reach_between_full_profiles() -> None:
    company = build_company(
        [
            {"role": "r1", "competency": "a", "level": 2},
            {"role": "r2", "competency": "a", "level": 4},
            {"role": "r3", "competency": "a", "level": 5},
        ],
        ("x4", 40, "a", 4),
        ("x5", 50, "a", 5),
    )
    graph = build_role_graph(company)
    assert set(graph) == {"r1", "r2", "r3"}
    assert dict(graph.edges) == {
        (u, v): {"study_hours": hours, "months": pytest.approx(hours / 4 * 12 / 52)}
        for u, v, hours in (("r1", "r2", 40), ("r2", "r1", 0), ("r2", "r3", 50), ("r3", "r1", 0), ("r3", "r2", 0))
    }
    assert set(build_role_graph(company, preparation_limit=40).edges) == set(graph.edges) - {("r2", "r3")}
    for start in graph:
        reach = find_reachable_roles(company, build_role_profile(company, start)).roles
        assert {role.id for role in reach if role.within_reach} == set(graph[start])


def test_a_role_within_reach_stands_before_a_shorter_one_beyond_a_limit() -> None:
    company = build_company(
        [{"role": "leap", "competency": "a", "level": 4}, {"role": "step", "competency": "b", "level": 1}],
        ("x1", 1, "a", 4),
        ("x2", 9, "b", 1),
    )
    rows = find_reachable_roles(company, Profile({})).roles
    assert [(row.id, row.within_reach, row.study_hours) for row in rows] == [("step", True, 9), ("leap", False, 1)]
