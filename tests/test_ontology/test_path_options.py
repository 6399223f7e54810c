"""Learning paths by weeks, with excluded and booked courses, alternatives, confirmations, and what reaches what."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.aims import get_common_parts, get_week_fraction, get_whole_cents, get_whole_minutes
from ontology.analysis.paths.lapses import find_lapses, get_study_end
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path, find_path_to_levels
from ontology.analysis.paths.person_path import settle_path
from ontology.analysis.profiles.levels import Profile, build_profile
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

NOBODY = Profile({})
ON = date(2026, 11, 24)


def build_company(*rows: tuple[str, float, str, str], more: Any = None, **tables: Any) -> Snapshot:
    """Return a company of courses (id, hours, "entry conditions", "outcomes"); an outcome with a ! renews."""
    courses, conditions, outcomes = [], [], []
    for course, hours, asked, given in rows:
        courses.append({"id": course, "label": course.upper(), "hours": hours} | (more or {}).get(course, {}))
        for text in asked.split():
            i, _, level = text.partition(":")
            conditions.append({"course": course, "competency": i, "level": int(level or 1)})
        for text in given.split():
            i, _, level = text.rstrip("!").partition(":")
            outcomes.append({"course": course, "competency": i, "level": int(level or 1), "renews": text.endswith("!")})
    return build_snapshot(
        **{
            "scales": build_scale(),
            "competencies": [
                *build_competencies("a b c d"),
                *build_competencies("z", kind="certificate", validity_months=12, refresher_months=6),
            ],
            "courses": courses,
            "entry_conditions": conditions,
            "outcomes": outcomes,
            "roles": [{"id": "r", "label": "R"}],
        }
        | tables
    )


def get_ids(result: LearningPathResult) -> list[str]:
    return [course.id for course in result.courses]


# ---- weeks ----


def test_least_weeks_are_the_courses_own_or_their_hours_at_the_persons_pace() -> None:
    company = build_company(
        ("long", 4, "", "a"),
        ("short", 12, "", "a"),
        ("paced", 10, "", "a"),
        more={"long": {"weeks": 8.0}, "short": {"weeks": 2.0}},
    )
    by_pace = {
        pace: find_path_to_levels(company, Profile({}, study_hours_per_week=pace), {"a": 1}, minimise="weeks")
        for pace in (4.0, 6.0, 0.0)
    }
    assert {pace: (get_ids(r), r.weeks, r.lower_bound) for pace, r in by_pace.items()} == {
        4.0: (["short"], 2.0, 2.0),
        6.0: (["paced"], 10 / 6, 10 / 6),
        0.0: (["short"], 2.0, 2.0),
    }


def test_a_course_of_no_weeks_counts_none() -> None:
    assert get_week_fraction(Fraction(0), 90, 4.0) == 0


def test_weeks_are_tied_by_hours_and_settle_no_ties_of_hours() -> None:
    company = build_company(
        ("x1", 4, "", "a"), ("x2", 3, "", "a"), ("x3", 3, "", "a"), more={"x1": {"weeks": 1.0}, "x2": {"weeks": 1.0}}
    )
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 1}, minimise="weeks")) == ["x3"]
    assert find_path_to_levels(company, NOBODY, {"a": 1}, minimise="weeks").weeks == 0.75
    # x2 takes more weeks than x3 and as many hours: the id decides
    assert get_ids(find_path_to_levels(company, NOBODY, {"a": 1})) == ["x2"]


def test_weeks_add_up_exactly() -> None:
    # 0.1 + 0.2 against 0.3 weeks: equal, so the hours decide
    company = build_company(
        ("x1", 1, "", "a"),
        ("x2", 1, "", "b"),
        ("x3", 3, "", "a b"),
        more={"x1": {"weeks": 0.1}, "x2": {"weeks": 0.2}, "x3": {"weeks": 0.3}},
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1}, minimise="weeks")
    assert (get_ids(result), result.weeks) == (["x1", "x2"], 0.3)


def test_weeks_get_a_common_denominator_that_is_not_too_fine() -> None:
    assert get_common_parts([Fraction(1, 4), Fraction(1, 6)]) == 12
    assert get_common_parts([]) == 1
    assert get_common_parts([Fraction(1, 99_991), Fraction(1, 2)]) == 10_080
    assert get_week_fraction(None, 90, 0.5) == 3
    assert (get_whole_cents(0.29), get_whole_cents(float("inf"))) == (29, None)
    assert (get_whole_minutes(2.05), get_whole_minutes(0.99 / 60)) == (123, 0)


def test_no_hours_for_study_are_said_so() -> None:
    company = build_company(("x1", 4, "", "a"))
    result = find_path_to_levels(company, Profile({}, study_hours_per_week=0.0), {"a": 1})
    assert (result.months, result.weeks) == (None, 1.0)
    assert result.remarks == (
        "No hours a week are free for study: courses that name no weeks are counted at 4 h a week.",
    )


def test_hours_of_coaches_and_months_stand_beside_the_hours() -> None:
    company = build_company(
        ("x1", 26, "", "a"), ("x2", 26, "", "b"), more={"x1": {"coach_hours": 2.5}, "x2": {"coach_hours": 4.0}}
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1, "b": 1})
    assert (result.study_hours, result.coach_hours, result.months) == (52, 6.5, 3.0)


# ---- excluded and booked ----

CHAIN = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 20, "", "b"), ("x4", 1, "c", "b"))


def test_an_excluded_course_is_never_used_and_named_where_it_is_missed() -> None:
    assert get_ids(find_path_to_levels(CHAIN, NOBODY, {"b": 1})) == ["x1", "x2"]
    assert get_ids(find_path_to_levels(CHAIN, NOBODY, {"b": 1}, exclude={"x2"})) == ["x3"]
    lost = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, exclude={"x2", "x3"})
    assert (lost.status, lost.courses) == ("unreachable", ())
    assert lost.unreachable[0].reason.endswith(" Excluded at the person's wish: X2 (x2), X3 (x3).")
    gone = find_path_to_levels(CHAIN, NOBODY, {"a": 1}, exclude={"x1"})
    assert gone.unreachable[0].reason == ("No course teaches A (a) at level 1. Excluded at the person's wish: X1 (x1).")


def test_a_booked_course_counts_but_its_hours_stand_apart() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x1"})
    assert (result.status, get_ids(result), result.study_hours, result.lower_bound) == ("optimal", ["x2"], 3, 3)
    assert (result.order, result.booked_hours) == (("x1", "x2"), 5)
    (row,) = result.booked
    assert (row.is_possible, row.enables, row.serves) == (True, ("x2",), ("b",))


def test_booked_courses_alone_may_reach_everything() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x3"}, alternatives=2)
    assert (result.status, result.courses, result.study_hours, result.order) == ("optimal", (), 0, ("x3",))
    assert (result.alternatives, result.indispensable) == ((), ())


def test_a_booked_course_waits_for_the_path_where_that_is_cheaper() -> None:
    # x2 is booked: x1 (5 h) makes it possible, x3 would take 20 h
    result = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, already_booked={"x2"})
    assert (get_ids(result), result.order) == (["x1"], ("x1", "x2"))
    assert result.courses[0].serves == ("b",)


def test_a_booked_course_that_nothing_makes_possible_is_reported_and_costs_nothing() -> None:
    result = find_path_to_levels(CHAIN, NOBODY, {"a": 1}, already_booked={"x4"})
    assert (get_ids(result), result.order) == (["x1"], ("x1",))
    (row,) = result.booked
    assert (row.is_possible, [(w.competency, w.level, w.reached) for w in row.waits_for]) == (False, [("c", 1, 0)])
    assert result.remarks == ("The booked course X4 (x4) waits for C (c) at level 1: nothing on this path gives it.",)


def test_a_booked_course_that_waits_counts_its_weeks_at_the_persons_pace() -> None:
    company = build_company(("x1", 8, "a", "b"))
    (row,) = find_path_to_levels(company, Profile({}, study_hours_per_week=2.0), {}, already_booked={"x1"}).booked
    assert (row.is_possible, row.weeks) == (False, 4)


def test_only_conditions_that_are_not_met_are_waited_for() -> None:
    company = build_company(("x1", 1, "a c:2 d", "b"))
    (row,) = find_path_to_levels(company, Profile({"a": 1, "c": 1}), {}, already_booked={"x1"}).booked
    assert [(w.competency, w.level, w.reached) for w in row.waits_for] == [("c", 2, 1), ("d", 1, 0)]


def test_a_later_course_with_a_lower_level_takes_nothing_away() -> None:
    requirements = [{"role": "r", "competency": i, "level": 1} for i in "ab"]
    company = build_company(("x1", 1, "", "a:3"), ("x2", 1, "a:2", "a:1 b"), requirements=requirements)
    rows = find_learning_path(company, NOBODY, "r").requirements
    assert [(row.competency, row.reached, row.reached_by) for row in rows] == [("a", 3, "x1"), ("b", 1, "x2")]


def test_a_booked_refresher_of_no_use_is_shown_all_the_same() -> None:
    company = build_company(("x1", 5, "", "a"), ("fresh", 2, "", "z!"))
    result = find_path_to_levels(company, NOBODY, {"a": 1}, already_booked={"fresh"})
    assert [(row.id, row.is_possible, row.brings, row.study_hours) for row in result.booked] == [("fresh", True, (), 2)]


def test_unknown_courses_and_those_both_excluded_and_booked_are_refused() -> None:
    for wishes in ({"exclude": {"nope"}}, {"already_booked": {"nope"}}):
        with pytest.raises(UnknownIdError):
            find_path_to_levels(CHAIN, NOBODY, {"a": 1}, **wishes)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="x1"):
        find_path_to_levels(CHAIN, NOBODY, {"a": 1}, exclude={"x1"}, already_booked={"x1"})


# ---- alternatives ----


def test_alternatives_say_what_they_replace_and_cost_more() -> None:
    more = {"x1": {"cost": 10.0, "weeks": 1.0}, "x3": {"cost": 2.0, "weeks": 4.0, "coach_hours": 3.0}}
    company = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 20, "", "b"), ("x5", 6, "", "a"), more=more)
    result = find_path_to_levels(company, NOBODY, {"b": 1}, alternatives=5)
    assert result.alternatives is not None
    first, second = result.alternatives
    assert (first.courses, first.left_out, first.added, first.more_hours) == (("x5", "x2"), ("x1",), ("x5",), 1)
    assert (second.courses, second.left_out, second.added) == (("x3",), ("x1", "x2"), ("x3",))
    assert (second.more_hours, second.more_cost, second.more_weeks, second.more_coach_hours) == (12, -8, 2.25, 3)
    assert (first.is_proved, second.is_proved, result.indispensable) == (True, True, ())


def test_alternatives_compare_hours_of_coaches_with_those_of_the_best() -> None:
    company = build_company(
        ("x1", 5, "", "a"), ("x2", 6, "", "a"), more={"x1": {"coach_hours": 1.0}, "x2": {"coach_hours": 3.0}}
    )
    result = find_path_to_levels(company, NOBODY, {"a": 1}, alternatives=1)
    assert result.alternatives is not None
    assert [(row.coach_hours, row.more_coach_hours) for row in result.alternatives] == [(3, 2)]


def test_alternatives_come_unasked_for_only_where_they_are_wanted() -> None:
    assert find_path_to_levels(CHAIN, NOBODY, {"b": 1}).alternatives is None
    quick = find_path_to_levels(CHAIN, NOBODY, {"b": 1}, alternatives=None).alternatives
    assert quick is not None
    assert [a.courses for a in quick] == [("x3",)]


def test_a_course_that_no_path_does_without_is_named() -> None:
    company = build_company(("x1", 5, "", "a"), ("x2", 3, "a", "b"), ("x3", 4, "a", "b"))
    assert find_path_to_levels(company, NOBODY, {"b": 1}).indispensable == ("x1",)


# ---- what was never assessed ----


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


# ---- what reaches what ----


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


# ---- lapses ----


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
