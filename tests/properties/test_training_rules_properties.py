"""Every rule of a cross-training plan against every set of courses on random small teams."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

from brute_training import PlainCourse, find_best_plan, find_coached, find_done_day, learn
from hypothesis import given
from hypothesis import strategies as st
from nearest_people import plan_nearest_people
from small_company import ON
from small_team import PlainTeam, Rows, assess, build_team
from training_questions import MANY, absence_rows, questions, read_absent, read_courses, read_goals, read_levels

from api.desk.names import Names
from api.questions.team._plan_remarks import list_remarks
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training


def check(result: CrossTrainingResult, expected: tuple[Any, ...], *, with_ids: bool = True) -> None:
    missing, minutes, cents, count, pairs = expected
    chosen = tuple(sorted((row.person, course) for row in result.learners for course in row.courses))
    assert (result.missing, round(result.total_hours * 60), round(result.cost * 100)) == (missing, minutes, cents)
    assert len(chosen) == count
    assert chosen == pairs or not with_ids
    assert result.is_proved


@MANY
@given(questions(), st.integers(0, 30), st.data())
def test_plan_until_a_date_is_the_best_of_those_that_end_in_time(
    question: tuple[Rows, Rows], days: int, data: st.DataObject
) -> None:
    rows, courses = question
    rows = data.draw(absence_rows(rows))
    absent = read_absent(rows)
    plain = PlainTeam(rows)
    by = ON + timedelta(days=days)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs", asked=TrainingAsked(by=by))
    levels, known = read_levels(plain), read_courses(courses)
    best = find_best_plan(
        levels, known, read_goals(plain), last_day=days, absent=absent, is_coached=find_coached(levels)
    )
    # of plans that come to the same one in which everybody can be released goes before smaller ids
    check(result, best, with_ids=False)
    for row in result.learners:
        own = [course for course in known if course.id in row.courses]
        done = find_done_day(levels[row.person], own, absent.get(row.person, set()))
        assert done is not None
        assert ON + timedelta(days=done) <= row.finished_on <= by


@MANY
@given(questions(), st.data())
def test_plan_leaves_out_people_and_courses_and_needs_coaches(question: tuple[Rows, Rows], data: st.DataObject) -> None:
    rows, courses = question
    plain = PlainTeam(rows)
    people = data.draw(st.sets(st.sampled_from(sorted(plain.people)), max_size=1))
    out = data.draw(st.sets(st.sampled_from([row["id"] for row in courses["courses"]]), max_size=1))
    with_coach = data.draw(st.booleans())
    lender = {"people": [{"id": "x", "name": "x", "team": "u"}], "teams": [{"id": "u", "label": "u"}]}
    lent = data.draw(st.sampled_from([(), ("u",)]))
    levels = {**read_levels(plain), "x": {"a": 2, "b": 2}}
    more = [assess("x", "a", 2), assess("x", "b", 2)]
    rules = TrainingAsked(
        exclude_people=frozenset(people), exclude_courses=frozenset(out), with_coach=with_coach, lending_teams=lent
    )
    snapshot = build_team(rows, **courses, **lender, assessments=more)
    result = plan_cross_training(snapshot, "t", ON, holes="needs", asked=rules)
    who = {*plain.people, *(("x",) if lent else ())}

    def find_coaches(person: str, course: PlainCourse) -> list[list[str]]:
        return [sorted(p for p in who - {person} if levels[p].get(i, 0) >= level) for i, level in course.outcomes]

    def is_coached(person: str, course: PlainCourse) -> bool:
        return not course.coach_minutes or all(find_coaches(person, course))

    def may_take(person: str, course: PlainCourse) -> bool:
        return person not in people and course.id not in out and (not with_coach or is_coached(person, course))

    known = {course.id: course for course in read_courses(courses)}
    best = find_best_plan(
        read_levels(plain), list(known.values()), read_goals(plain), may_take=may_take, is_coached=is_coached
    )
    check(result, best)
    for line in result.plan:
        coached = [course for course in line.courses if known[course].coach_minutes]
        assert [row.course for row in line.coaching] == coached
        for row in line.coaching:
            course = known[row.course]
            told = {(o.competency, o.level): list(o.people) for o in row.outcomes}
            assert told == dict(zip(course.outcomes, find_coaches(line.person, course), strict=True))
            assert abs(sum(o.coach_hours for o in row.outcomes) - row.coach_hours) < 1e-9
            assert set(row.people) == set.intersection(*map(set, told.values()))
    for line in result.plan:
        names = {(line.person, row.course) for row in line.coaching if not all(o.people for o in row.outcomes)}
        told = list_remarks(result, Names(snapshot))
        assert len(names) <= sum("can coach" in remark for remark in told)


@MANY
@given(questions(), st.sampled_from([None, 6.0]))
def test_fair_plan_has_the_smallest_largest_load(question: tuple[Rows, Rows], hours: float | None) -> None:
    rows, courses = question
    plain = PlainTeam(rows)
    rules = TrainingAsked(is_fair=True, hours_limit=hours)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs", asked=rules)
    limit = None if hours is None else round(hours * 60)
    best = find_best_plan(
        read_levels(plain),
        read_courses(courses),
        read_goals(plain),
        limit_minutes=limit,
        is_fair=True,
        is_coached=find_coached(read_levels(plain)),
    )
    check(result, best)
    assert result.largest_load == max((row.study_hours for row in result.learners), default=0)


@MANY
@given(questions(), st.sampled_from([1.0, 2.0]), st.sampled_from([0.5, 2.0, 3.0, 4.0]))
def test_plan_trains_nobody_beyond_the_practice_ceiling(
    question: tuple[Rows, Rows], practices: float, occasions: float
) -> None:
    rows, courses = question
    rows = {
        **rows,
        "competencies": [row | {"practices_per_year": practices} for row in rows["competencies"]],
        "cover_needs": [row | {"occasions_per_year": occasions} for row in rows["cover_needs"]],
    }
    plain = PlainTeam(rows)
    ceiling = int(occasions / practices)
    goals = [replace(goal, wanted=min(goal.wanted, ceiling)) for goal in read_goals(plain)]
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs")
    levels = read_levels(plain)
    check(result, find_best_plan(levels, read_courses(courses), goals, is_coached=find_coached(levels)))
    told = {(row.competency, row.level, row.applies, row.shift): row for row in result.ceilings}
    for goal, (need, shift, _, _) in zip(read_goals(plain), plain.scopes, strict=True):
        key = (need["competency"], need["level"], need["applies"], shift)
        if goal.wanted > ceiling:
            assert (told[key].ceiling, told[key].wanted) == (ceiling, goal.wanted)
    assert len(result.remarks) >= len(result.ceilings)


@MANY
@given(questions(people=4))
def test_plan_applied_to_the_data_has_the_promised_states(question: tuple[Rows, Rows]) -> None:
    rows, courses = question
    rows = {**rows, "absences": []}
    plain = PlainTeam(rows)
    result = plan_cross_training(build_team(rows, **courses), "t", ON, holes="needs")
    by_id = {course.id: course for course in read_courses(courses)}
    levels = read_levels(plain)
    for row in result.learners:
        levels[row.person] = learn(levels[row.person], [by_id[course] for course in row.courses])
    held = [assess(p, i, level) for p, known in levels.items() for i, level in known.items() if level]
    after = compute_coverage(build_team({**rows, "assessments": held}, **courses), "t", ON)
    unmet = {(row.competency, row.level, row.applies) for row in result.unmet}
    for need in after.needs:
        states = [shift.state for shift in need.shifts] or [need.state]
        # with the target reached a need may still have no one to spare, where minimum and target are the same
        is_met = all(state == "covered" or need.target == need.minimum for state in states)
        is_short = any(state == "short" for state in states)
        if (need.competency, need.level, need.applies) not in unmet:
            assert is_met
            assert not is_short
    for line in result.plan:
        assert line.mends


@MANY
@given(questions(people=4, courses=5))
def test_plan_without_limits_never_costs_more_than_the_nearest_person_for_each_need(
    question: tuple[Rows, Rows],
) -> None:
    rows, courses = question
    snapshot = build_team(rows, **courses)
    result = plan_cross_training(snapshot, "t", ON, holes="needs")
    missing, minutes = plan_nearest_people(snapshot, "t", ON)
    assert result.missing <= missing
    if result.missing == missing:
        assert result.total_hours * 60 <= minutes + 1e-6
