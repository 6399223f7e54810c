"""What a cross-training plan keeps to: people and courses left out, coaches, fair loads, last days."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from cross_training_cases import need, plan
from small_company import ON
from small_team import build_course_rows, build_team, build_team_rows

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.training.cross_training import TrainingAsked
from ontology.analysis.training.learners import build_team_learning
from ontology.analysis.training.training_goals import build_goals
from ontology.analysis.training.training_rules import build_learner_rules
from ontology.analysis.training.training_state import LOAD, TrainingState
from ontology.errors import InputError, UnknownIdError


def test_limit_of_hours_holds_for_each_person_and_is_named_where_it_stops_the_plan() -> None:
    courses = build_course_rows(a2={"hours": 6.0, "gives": {"a": 2}}, b2={"hours": 5.0, "gives": {"b": 2}})
    needs = [need("a", target=2), need("b", target=2)]
    free = plan(build_team_rows(p={}, q={}), needs, courses)
    assert (free.status, free.study_hours) == ("optimal", 22.0)
    tight = plan(build_team_rows(p={}, q={}), needs, courses, hours_limit=10.0)
    assert tight.status == "unreachable"
    assert (tight.missing, tight.study_hours) == (2, 10.0)
    assert [(row.competency, row.missing) for row in tight.unmet] == [("a", 2)]
    assert "limit of 10 hours" in tight.unmet[0].reason


def test_people_and_courses_left_out_are_named_where_the_plan_fails_for_it() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}})
    rules = TrainingAsked(exclude_people=frozenset({"p"}))
    result = plan(build_team_rows(p={}, q={}), [need(target=2)], courses, asked=rules)
    assert [line.person for line in result.plan] == ["q"]
    assert "For p: not to learn, as asked." in result.unmet[0].reason
    rules = TrainingAsked(exclude_courses=frozenset({"a2"}))
    (row,) = plan(build_team_rows(p={}), [need(target=1)], courses, asked=rules).unmet
    assert "only by courses that are left out" in row.reason


def test_without_a_coach_the_course_counts_only_where_nobody_asks_for_one() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "coach_hours": 1.0, "gives": {"a": 2}})
    rows = build_team_rows(p={}, x={"a": 4})
    rows["people"][1]["team"] = "u"
    rows["teams"].append({"id": "u", "label": "u"})
    needs = [need(target=1)]
    assert plan(rows, needs, courses).plan[0].coaching[0].people == ()
    assert plan(rows, needs, courses, asked=TrainingAsked(with_coach=True)).missing == 1
    lent = plan(rows, needs, courses, asked=TrainingAsked(with_coach=True, lending_teams=("u",)))
    assert lent.plan[0].coaching[0].people == ("x",)


def test_fair_plan_spreads_the_load_even_where_it_takes_more_hours() -> None:
    courses = build_course_rows(
        a2={"hours": 6.0, "gives": {"a": 2}},
        b2={"hours": 6.0, "gives": {"b": 2}},
        ab={"hours": 8.0, "gives": {"a": 2, "b": 2}},
    )
    needs = [need("a", target=1), need("b", target=1)]
    assert plan(build_team_rows(p={}, q={}), needs, courses).total_hours == 8.0
    fair = plan(build_team_rows(p={}, q={}), needs, courses, asked=TrainingAsked(is_fair=True))
    assert (fair.largest_load, fair.total_hours) == (6.0, 12.0)


def test_a_date_before_the_day_asked_about_is_refused() -> None:
    with pytest.raises(InputError):
        plan(build_team_rows(p={}), [], build_course_rows(), asked=TrainingAsked(by=ON - timedelta(days=1)))
    with pytest.raises(UnknownIdError):
        plan(build_team_rows(p={}), [], build_course_rows(), asked=TrainingAsked(exclude_courses=frozenset({"nosuch"})))


def test_a_course_that_opens_the_way_sooner_may_be_what_keeps_the_date() -> None:
    """With "quick" the course "late" fills the time until "slow" can begin; without it all ends three weeks later."""
    courses = build_course_rows(
        slow={"hours": 4.0, "weeks": 1.0, "lead_weeks": 8.0, "gives": {"a": 1, "b": 2}},
        late={"hours": 4.0, "weeks": 3.0, "gives": {"c": 2}, "asks": {"a": 1}},
        quick={"hours": 1.0, "gives": {"a": 1}},
    )
    needs = [need("b", target=1), need("c", target=1)]
    free = plan(build_team_rows(p={}), needs, courses)
    assert ([row.courses for row in free.learners], free.finished_on) == ([("slow", "late")], ON + timedelta(weeks=12))
    by = ON + timedelta(weeks=12, days=-1)
    timed = plan(build_team_rows(p={}), needs, courses, asked=TrainingAsked(by=by))
    assert ([row.courses for row in timed.learners], timed.missing) == ([("quick", "slow", "late")], 0)
    assert timed.finished_on == ON + timedelta(weeks=9)


def test_the_lesser_of_two_limits_holds() -> None:
    team = build_team(build_team_rows(p={}))
    presence = get_presence(team, "t", ON)
    # a week of forty hours, or three hours
    week = TrainingAsked(by=ON + timedelta(days=7))
    assert (build_learner_rules(presence, week).get_limit("p"), week.require_sound(team, ON)) == (40 * 60, None)
    assert build_learner_rules(presence, replace(week, hours_limit=3.0)).get_limit("p") == 180
    assert build_learner_rules(presence, replace(week, hours_limit=99.0)).get_limit("p") == 40 * 60
    TrainingAsked(by=ON).require_sound(team, ON)


@pytest.mark.parametrize(("by", "leaves", "expected"), [(9, None, 9), (9, 4, 4), (4, 9, 4), (None, 4, 4)])
def test_courses_are_done_by_the_date_and_by_the_last_day_of_who_learns(
    by: int | None, leaves: int | None, expected: int
) -> None:
    rows = build_team_rows(p={})
    rows["people"][0]["end_date"] = None if leaves is None else ON + timedelta(days=leaves)
    rules = TrainingAsked(by=None if by is None else ON + timedelta(days=by))
    assert build_learner_rules(get_presence(build_team(rows), "t", ON), rules).get_last_day("p") == expected


def test_who_is_away_coaches_nobody() -> None:
    presence = get_presence(build_team(build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 1})), "t", ON, {"q"})
    rules = build_learner_rules(presence, TrainingAsked(with_coach=True))
    assert (rules.coaches, rules.find_coaches("r", ("a", 2), ON)) == (("p", "r"), ("p",))


def test_the_load_of_a_plan_is_that_of_the_person_with_most_hours() -> None:
    courses = build_course_rows(a2={"hours": 3.0, "gives": {"a": 2}}, b2={"hours": 5.0, "gives": {"b": 2}})
    needs = [need("a", target=2), need("b", target=2)]
    presence = get_presence(build_team(build_team_rows(p={}, q={}), cover_needs=needs, **courses), "t", ON)
    goals = build_goals(presence, None, False)
    team = build_team_learning(presence, goals, build_learner_rules(presence, TrainingAsked()))
    plan_of_both = {"p": frozenset(team.learners["p"].courses), "q": frozenset(list(team.learners["q"].courses)[:1])}
    assert TrainingState(team, goals, is_fair=True).get_value(plan_of_both)[LOAD] == 8 * 60
    assert TrainingState(team, goals, is_fair=False).get_value(plan_of_both)[LOAD] == 0
