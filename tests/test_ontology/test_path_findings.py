"""What a path tells beside its courses: what assessments would save, what reaches what, what lapses meanwhile."""

from __future__ import annotations

from datetime import date

import pytest
from path_cases import NOBODY, build_company
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.lapses import find_lapses, get_study_end
from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.paths.person_path import settle_path
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)


def test_a_confirmation_saves_the_courses_that_only_it_needs() -> None:
    requirements = [{"role": "r", "competency": i, "level": 1} for i in "abd"]
    competencies = [*build_competencies("a b c"), *build_competencies("d", assessment_hours=1.5)]
    company = build_company(
        ("x1", 5, "", "a"),
        ("x2", 3, "a", "b"),
        ("x3", 7, "", "d"),
        requirements=requirements,
        competencies=competencies,
    )
    result = find_learning_path(company, NOBODY, "r", unassessed=frozenset("abd"))
    assert [(row.competency, row.saved_hours, row.assessment_hours) for row in result.assess_savings] == [
        ("d", 7, 1.5),
        ("a", 5, None),
        ("b", 3, None),
    ]
    assert all(row.is_proved for row in result.assess_savings)
    assert {row.competency: row.have for row in result.requirements} == {"a": None, "b": None, "d": None}


def test_a_confirmation_is_of_the_whole_level_asked_for() -> None:
    requirements = [{"role": "r", "competency": "a", "level": 2}]
    company = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "a:2"), requirements=requirements)
    result = find_learning_path(company, NOBODY, "r", unassessed=frozenset("a"))
    assert [(row.level, row.saved_hours) for row in result.assess_savings] == [(2, 8)]


def test_savings_compare_the_same_aim_down_to_its_hours() -> None:
    requirements = [{"role": "r", "competency": i, "level": 1} for i in "ab"]
    company = build_company(("x1", 9, "", "a"), ("x2", 5, "", "a"), ("x3", 1, "", "b"), requirements=requirements)
    result = find_learning_path(company, NOBODY, "r", minimise="courses", unassessed=frozenset("b"))
    assert [(row.competency, row.saved_hours) for row in result.assess_savings] == [("b", 1)]


def test_courses_say_what_they_bring_and_requirements_what_reaches_them() -> None:
    requirements = [
        {"role": "r", "competency": "a", "level": 3, "weight": 2.0},
        {"role": "r", "competency": "b", "level": 1, "necessity": "desirable"},
        {"role": "r", "competency": "c", "level": 2},
        {"role": "r", "competency": "d", "level": 2},
        {"role": "r", "competency": "z", "level": 1, "necessity": "blocking"},
    ]
    company = build_company(
        ("x1", 5, "", "a:2"),
        ("x2", 3, "a:2", "a:4"),
        ("x3", 1, "", "z!"),
        ("x4", 9, "", "d:1"),
        requirements=requirements,
    )
    profile = Profile({"a": 1, "c": 2}, renewable={"z": 1})
    result = find_learning_path(company, profile, "r")
    brings = {c.id: [(b.competency, b.before, b.level, b.renews) for b in c.brings] for c in result.courses}
    assert brings == {"x1": [("a", 1, 2, False)], "x2": [("a", 2, 4, False)], "x3": [("z", 0, 1, True)]}
    rows = {
        row.competency: (row.have, row.reached, row.reached_by, row.by_refresher, row.state, row.is_target)
        for row in result.requirements
    }
    assert rows == {
        "a": (1, 4, "x2", False, "reached", True),
        "b": (0, 0, None, False, "not-asked", False),
        "c": (2, 2, None, False, "held", True),
        "d": (0, 0, None, False, "unreachable", True),
        "z": (0, 1, "x3", True, "reached", True),
    }
    # weights 2 for a, 3 for the others: before (2/3 + 3) / 14, after (2 + 3 + 3) / 14
    assert result.readiness_before == pytest.approx((2 / 3 + 3) / 14)
    assert result.readiness_after == pytest.approx(8 / 14)


def test_a_course_brings_no_level_that_is_held_already() -> None:
    company = build_company(("x1", 5, "", "a:2 b:1"))
    (course,) = find_path_to_levels(company, Profile({"a": 2}), {"b": 1}).courses
    assert [brought.competency for brought in course.brings] == ["b"]


def test_levels_that_lapse_before_the_study_is_done_are_named_with_their_renewal() -> None:
    company = build_company(
        ("x1", 16, "z", "a"),
        ("fresh", 2, "", "z!"),
        people=[{"id": "p", "name": "P", "study_hours_per_week": 4.0}],
        assessments=[
            {
                "person": "p",
                "competency": "z",
                "level": 1,
                "date": date(2025, 12, 10),
                "source": "certificate",
                "valid_until": date(2026, 12, 10),
            }
        ],
    )
    profile = build_profile(company, "p", ON)
    result = settle_path(company, "p", find_path_to_levels(company, profile, {"a": 1}), ON)
    assert [(row.competency, row.level, row.valid_until, row.renewed_by) for row in result.lapses] == [
        ("z", 1, date(2026, 12, 10), ("fresh",))
    ]
    # 16 h at 4 h a week end on 22 December; a certificate that counts that day does not lapse on the way
    assert get_study_end(ON, 16 * 60, 4.0) == date(2026, 12, 22)
    assert find_lapses(company, "p", ["z"], ON, date(2026, 12, 10)) == ()
    assert len(find_lapses(company, "p", ["z"], ON, date(2026, 12, 11))) == 1


def build_holder() -> Snapshot:
    """Return a company in which p holds z until 10 December and a, due for review then; x1 takes 16 h."""
    held = {"person": "p", "level": 1, "date": date(2025, 12, 10), "valid_until": date(2026, 12, 10)}
    return build_company(
        ("x1", 16, "", "b"),
        people=[{"id": "p", "name": "P", "study_hours_per_week": 4.0}],
        assessments=[
            held | {"competency": "z", "source": "certificate"},
            held | {"competency": "a", "source": "assessor"},
        ],
        requirements=[{"role": "r", "competency": "z", "level": 1, "necessity": "desirable"}],
    )


@pytest.mark.parametrize(("expiry", "until"), [("hard", date(2026, 12, 20)), ("review", date(2026, 12, 10))])
def test_a_level_that_is_assessed_lower_meanwhile_does_not_lapse(expiry: str, until: date) -> None:
    seen = {"person": "p", "competency": "a", "source": "assessor"}
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a", expiry=expiry),
        people=[{"id": "p", "name": "P"}],
        assessments=[
            seen | {"level": 3, "date": date(2025, 12, 10), "valid_until": until},
            seen | {"level": 2, "date": date(2026, 12, 1)},
        ],
    )
    assert find_lapses(company, "p", "a", ON, date(2026, 12, 20)) == ()
    # later than its last day it does, where that ends a level
    assert len(find_lapses(company, "p", "a", ON, date(2027, 1, 20))) == (expiry == "hard")


def test_what_lapsed_before_or_is_only_due_for_review_does_not_lapse_meanwhile() -> None:
    company = build_holder()
    assert [row.competency for row in find_lapses(company, "p", "az", ON, date(2026, 12, 31))] == ["z"]
    assert find_lapses(company, "p", "az", date(2026, 12, 11), date(2026, 12, 31)) == ()


def test_hours_of_booked_courses_and_desirable_requirements_count_for_what_lapses() -> None:
    company = build_holder()
    profile = build_profile(company, "p", ON)
    result = find_learning_path(company, profile, "r", already_booked={"x1"})
    assert (result.targets, result.study_hours, result.booked_hours) == ({}, 0, 16)
    assert [row.competency for row in settle_path(company, "p", result, ON).lapses] == ["z"]


def test_the_end_of_study_needs_time_for_study() -> None:
    assert get_study_end(ON, 0, 0.0) == ON
    assert get_study_end(ON, 60, 0.0) is None
    assert get_study_end(ON, 10**12, 0.001) == date.max
