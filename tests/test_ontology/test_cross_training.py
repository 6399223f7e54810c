"""Cross-training plans: who counts, what counts once, what cannot be met, and the order of aims."""

from __future__ import annotations

import random
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from cross_training_cases import get_lines, need, plan
from scipy.optimize import Bounds, LinearConstraint, milp
from small_company import ON, build_competencies, build_scale, build_snapshot
from small_team import assess, build_course_rows, build_team, build_team_rows

from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.training_ceilings import describe_ceilings
from ontology.errors import InputError, UnknownIdError


def test_cheapest_learner_closes_the_gap_with_the_courses_in_order() -> None:
    courses = build_course_rows(
        z_first={"hours": 8.0, "gives": {"a": 1}},
        second={"hours": 6.0, "coach_hours": 2.0, "cost": 90.0, "gives": {"a": 2}, "asks": {"a": 1}},
    )
    result = plan(build_team_rows(p={"a": 3}, q={}, r={"a": 1}, s={}), [need(target=3)], courses)
    assert result.status == "optimal"
    assert get_lines(result) == [("q", "a", 2, ("z_first", "second")), ("r", "a", 2, ("second",))]
    assert (result.study_hours, result.coach_hours, result.cost) == (20.0, 4.0, 180.0)
    assert result.lower_bound == result.total_hours == 24.0
    assert (result.missing, result.unmet) == (0, ())


def test_course_that_serves_two_needs_is_named_in_both_and_counts_once() -> None:
    courses = build_course_rows(
        base={"hours": 10.0, "gives": {"c": 1}},
        a2={"hours": 1.0, "gives": {"a": 2}, "asks": {"c": 1}},
        b2={"hours": 1.0, "gives": {"b": 2}, "asks": {"c": 1}},
    )
    result = plan(build_team_rows(p={}, q={}), [need("a", target=1), need("b", target=1)], courses)
    assert get_lines(result) == [("p", "a", 2, ("base", "a2")), ("p", "b", 2, ("base", "b2"))]
    assert result.study_hours == 12.0
    assert [row.courses for row in result.learners] == [("base", "a2", "b2")]


def test_coach_hours_count_in_the_total_but_stand_beside_study_hours() -> None:
    courses = build_course_rows(
        coached={"hours": 4.0, "coach_hours": 4.0, "gives": {"a": 2}},
        alone={"hours": 7.0, "gives": {"a": 2}},
    )
    result = plan(build_team_rows(p={}), [need(target=1)], courses)
    assert get_lines(result) == [("p", "a", 2, ("alone",))]
    assert (result.study_hours, result.coach_hours) == (7.0, 0.0)


def test_ties_go_to_less_cost_then_fewer_courses_then_smaller_ids() -> None:
    courses = build_course_rows(
        dear={"hours": 4.0, "cost": 9.0, "gives": {"a": 2}},
        half={"hours": 2.0, "cost": 2.0, "gives": {"a": 1}},
        other={"hours": 2.0, "cost": 2.0, "gives": {"a": 2}, "asks": {"a": 1}},
        whole2={"hours": 4.0, "cost": 4.0, "gives": {"a": 2}},
        whole1={"hours": 4.0, "cost": 4.0, "gives": {"a": 2}},
    )
    result = plan(build_team_rows(p={}, q={}, r={}), [need(target=2)], courses)
    assert get_lines(result) == [("p", "a", 2, ("whole1",)), ("q", "a", 2, ("whole1",))]


def test_level_without_course_is_unmet_with_the_reason_and_the_rest_is_planned() -> None:
    courses = build_course_rows(
        b2={"hours": 5.0, "gives": {"b": 2}}, a2={"hours": 1.0, "gives": {"a": 2}, "asks": {"c": 4}}
    )
    result = plan(build_team_rows(p={}, q={}), [need("a"), need("b")], courses)
    assert (result.status, result.is_proved, result.study_hours) == ("unreachable", True, 10.0)
    (row,) = result.unmet
    assert (row.competency, row.level, row.missing) == ("a", 2, 2)
    assert "a2" in row.reason
    assert "which no course teaches" in row.reason


def test_missing_counts_people_summed_over_shifts() -> None:
    rows = build_team_rows(e1={}, e2={}, l1={}, x={})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late", "night")]
    for person in rows["people"][:3]:
        person["shift"] = "early" if person["id"][0] == "e" else "late"
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    result = plan(rows, [need(applies="each-shift", target=2)], courses)
    assert [line.person for line in result.plan] == ["e1", "e2", "l1"]
    (row,) = result.unmet
    assert (row.missing, row.shift, result.missing) == (3, None, 3)
    assert [(shift.shift, shift.missing) for shift in row.shifts] == [("late", 1), ("night", 2)]
    assert "Shift night has nobody" in row.reason


def test_absent_members_count_and_learn_but_not_who_has_gone() -> None:
    rows = build_team_rows(p={"a": 2}, q={}, r={"a": 2})
    rows["people"][2]["end_date"] = ON - timedelta(days=1)
    rows["absences"] = [{"person": p, "from_date": ON, "to_date": ON} for p in ("p", "q")]
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    result = plan(rows, [need(target=2)], courses)
    assert get_lines(result) == [("q", "a", 2, ("a2",))]


def test_nothing_to_do_is_zero() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    for needs in ([need(target=2)], []):
        result = plan(build_team_rows(p={"a": 2}, q={"a": 3}), needs, courses)
        assert result.status == "nothing-to-do"
        assert (result.study_hours, result.coach_hours, result.cost, result.lower_bound) == (0, 0, 0, 0)
        assert (result.plan, result.unmet, result.missing) == ((), (), 0)


def test_refresher_serves_only_who_lost_the_level_lately() -> None:
    rows = build_team_rows(fresh={}, old={}, lapsed={})
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "refresher_months": 12}
    held = assess("lapsed", "a", 2) | {"source": "certificate", "valid_until": ON - timedelta(days=5)}
    older = held | {"person": "old", "date": ON - timedelta(days=900), "valid_until": ON - timedelta(days=800)}
    rows["assessments"] = [held, older]
    courses = build_course_rows(
        full={"hours": 40.0, "gives": {"a": 2}}, refresher={"hours": 4.0, "gives": {"a": 2}, "renews": True}
    )
    result = plan(rows, [need(target=2)], courses)
    assert get_lines(result) == [("fresh", "a", 2, ("full",)), ("lapsed", "a", 2, ("refresher",))]


def test_criticality_weighs_who_is_missing_when_asked() -> None:
    courses = build_course_rows(ab={"hours": 6.0, "gives": {"a": 2}}, c2={"hours": 6.0, "gives": {"c": 2}})
    needs = [need("a", target=1, criticality=1), need("c", target=1, criticality=5)]
    result = plan(build_team_rows(p={}), needs, courses, hours_limit=6.0, weigh_criticality=True)
    assert get_lines(result) == [("p", "c", 2, ("c2",))]
    assert result.missing == 1
    assert get_lines(plan(build_team_rows(p={}), needs, courses, hours_limit=6.0)) == [("p", "a", 2, ("ab",))]


def test_time_limit_of_nothing_still_gives_a_plan_with_a_bound() -> None:
    courses = build_course_rows(
        a2={"hours": 6.0, "gives": {"a": 2}},
        b2={"hours": 6.0, "gives": {"b": 2}},
        ab={"hours": 8.0, "gives": {"a": 2, "b": 2}},
    )
    needs = [need("a", target=1), need("b", target=1)]
    result = plan(build_team_rows(p={}), needs, courses, time_limit_s=0.0)
    assert (result.status, result.is_proved, result.missing) == ("feasible", False, 0)
    assert result.lower_bound <= 8.0 <= result.total_hours
    assert plan(build_team_rows(p={}), needs, courses).total_hours == 8.0


def test_wrong_questions_are_refused() -> None:
    snapshot = build_team(build_team_rows(p={}))
    with pytest.raises(InputError):
        plan_cross_training(snapshot, "t", ON, hours_limit=-1.0)
    with pytest.raises(InputError):
        plan_cross_training(snapshot, "t", ON, tolerance=-1)
    with pytest.raises(UnknownIdError):
        plan_cross_training(snapshot, "nosuch", ON)


def test_each_learner_has_own_hours_coach_hours_and_cost_apart() -> None:
    courses = build_course_rows(
        a2={"hours": 6.0, "coach_hours": 2.0, "cost": 90.5, "gives": {"a": 2}},
        b2={"hours": 3.0, "gives": {"b": 2}},
    )
    result = plan(build_team_rows(p={"b": 2}, q={"a": 2}), [need("a", target=2), need("b", target=2)], courses)
    rows = [(row.person, row.study_hours, row.coach_hours, row.cost, row.courses) for row in result.learners]
    assert rows == [("p", 6.0, 2.0, 90.5, ("a2",)), ("q", 3.0, 0.0, 0.0, ("b2",))]


def test_a_level_that_comes_along_but_nobody_misses_is_no_line_of_the_plan() -> None:
    courses = build_course_rows(ab={"hours": 2.0, "gives": {"a": 2, "b": 2}})
    result = plan(build_team_rows(p={}, q={"a": 2}), [need("a", target=1), need("b", target=1)], courses)
    assert get_lines(result) == [("p", "b", 2, ("ab",))]


def test_too_few_people_are_a_reason_only_where_they_are_fewer_than_wanted() -> None:
    for target, count in ((2, 0), (3, 1)):
        (row,) = plan(build_team_rows(p={}, q={}), [need("a", target=target)], build_course_rows()).unmet
        assert row.reason.count(f"The team has 2 people who could count, {target} are wanted.") == count
        assert row.reason.count("could count") == count


def test_less_cost_goes_before_fewer_courses() -> None:
    courses = build_course_rows(
        whole={"hours": 4.0, "cost": 9.0, "gives": {"a": 2}},
        half={"hours": 2.0, "cost": 2.0, "gives": {"a": 1}},
        other={"hours": 2.0, "cost": 2.0, "gives": {"a": 2}, "asks": {"a": 1}},
    )
    result = plan(build_team_rows(p={}, q={}), [need(target=1)], courses)
    assert get_lines(result) == [("p", "a", 2, ("half", "other"))]
    assert (result.study_hours, result.cost) == (4.0, 4.0)


def test_fewer_courses_go_before_smaller_ids() -> None:
    courses = build_course_rows(
        a_half={"hours": 2.0, "cost": 2.0, "gives": {"a": 1}},
        b_other={"hours": 2.0, "cost": 2.0, "gives": {"a": 2}, "asks": {"a": 1}},
        z_whole={"hours": 4.0, "cost": 4.0, "gives": {"a": 2}},
    )
    assert get_lines(plan(build_team_rows(p={}), [need(target=1)], courses)) == [("p", "a", 2, ("z_whole",))]


def test_a_line_names_hours_coaches_the_day_and_what_it_mends() -> None:
    courses = build_course_rows(
        a1={"hours": 5.0, "gives": {"a": 1}},
        a2={"hours": 4.0, "coach_hours": 2.0, "gives": {"a": 2}, "asks": {"a": 1}, "lead_weeks": 3.0},
    )
    needs = [need(target=2), need(target=2, minimum=1, level=1)]
    result = plan(build_team_rows(p={"a": 3}, q={}), needs, courses)
    first, line = result.plan
    assert (first.level, first.study_hours, first.finished_on) == (1, 5.0, ON + timedelta(days=1))
    assert (line.study_hours, line.coach_hours) == (9.0, 2.0)
    assert [(row.course, row.coach_hours, row.people) for row in line.coaching] == [("a2", 2.0, ("p",))]
    # a1 within a day, then a2 waits for its lead time: three weeks, then a part of a day
    assert line.finished_on == ON + timedelta(days=22)
    assert [(row.competency, row.level, row.applies, row.shift, row.place) for row in line.mends] == [
        ("a", 2, "team", None, None)
    ]
    assert [(row.month, row.person, row.study_hours) for row in result.timetable] == [
        ("2026-11", "q", 5.0),
        ("2026-12", "q", 4.0),
    ]


def test_more_holders_than_occasions_keep_current_are_refused_as_cover_on_paper() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    rows = build_team_rows(p={"a": 2}, q={}, r={})
    rows["competencies"][0] |= {"practices_per_year": 4.0}
    result = plan(rows, [need(target=3, occasions_per_year=10.0)], courses)
    assert ([line.person for line in result.plan], result.status, result.missing) == (["q"], "optimal", 0)
    (row,) = result.ceilings
    assert (row.ceiling, row.wanted, row.holders) == (2, 3, 2)
    assert result.remarks == (row.reason,)
    assert "cover on paper" in row.reason
    tolerant = plan(rows, [need(minimum=2, target=2, occasions_per_year=10.0)], courses, tolerance=1)
    assert tolerant.status == "unreachable"


@pytest.mark.parametrize(
    ("wanted", "beyond", "holders", "words"),
    [
        (2, 0, 2, None),
        (1, 0, 3, "keep 2 current; 3 hold it."),
        (2, 1, 2, "keep 2 current: the 3 wanted would be cover on paper, the plan asks for 2."),
    ],
)
def test_a_ceiling_is_told_only_where_more_are_wanted_or_held(
    wanted: int, beyond: int, holders: int, words: str | None
) -> None:
    scope: Any = SimpleNamespace(
        people=("p", "q", "r"),
        facts=frozenset({("a", 2)}),
        wanted=wanted,
        beyond=beyond,
        ceiling=2,
        shift=None,
        need=SimpleNamespace(competency="a", level=2, applies="team", minimum=2),
    )
    goals: Any = SimpleNamespace(counts=[scope])
    found = describe_ceilings(goals, lambda person, _: person in "pqr"[:holders])
    assert [row.reason.partition("enough to ")[2] for row in found] == ([] if words is None else [words])


@pytest.mark.parametrize("seed", range(5))
def test_hours_of_one_learner_are_those_of_the_cheapest_cover(seed: int) -> None:
    """Eighteen levels, sixteen courses of three or four each: scipy's milp over which courses are taken."""
    rng = random.Random(seed)
    ids = [f"k{n:02}" for n in range(18)]
    gives = [rng.sample(ids, rng.randint(3, 4)) for _ in range(16)]
    hours = [float(rng.randint(2, 4)) for _ in gives]
    taught = sorted({i for given in gives for i in given})
    cover = np.array([[float(i in given) for given in gives] for i in taught])
    best = milp(hours, constraints=LinearConstraint(cover, 1, np.inf), integrality=1, bounds=Bounds(0, 1))
    result = plan_cross_training(
        build_snapshot(
            scales=build_scale(),
            competencies=build_competencies(" ".join(ids)),
            courses=[{"id": f"x{n:02}", "label": "x", "hours": hours[n]} for n in range(16)],
            outcomes=[
                {"course": f"x{n:02}", "competency": i, "level": 1} for n, given in enumerate(gives) for i in given
            ],
            teams=[{"id": "t", "label": "T"}],
            people=[{"id": "p", "name": "P", "team": "t"}],
            cover_needs=[{"team": "t", "competency": i, "level": 1, "target": 1} for i in ids],
        ),
        "t",
        ON,
    )
    assert (result.total_hours, result.lower_bound, result.is_proved) == (round(best.fun), round(best.fun), True)
    assert result.missing == len(ids) - len(taught)
