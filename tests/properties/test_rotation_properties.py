"""Rotations of small teams against literal enumeration."""

from __future__ import annotations

import pytest
from brute_cover import count_filled
from brute_rotation import count_least_breaks, find_best, iterate_days
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import PlainTeam, Rows, build_team, team_rows

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation import plan_rotation
from ontology.analysis.rotation.rotation_asked import RotationAsked
from ontology.analysis.rotation.rotation_problem import (
    Goal,
    Plan,
    Practice,
    Purpose,
    RotationProblem,
    find_broken_rule,
    iterate_stays,
    measure_plan,
)
from ontology.analysis.rotation.rotation_search import Shortage, explain_infeasible, find_shortages, solve_rotation

MANY = settings(max_examples=draws(250), deadline=None)


@st.composite
def problems(draw: st.DrawFn) -> RotationProblem:
    """Draw a problem of up to 3 people, 2 places and 4 intervals, mostly with some rotation."""
    intervals = draw(st.integers(1, 4))
    people = draw(st.integers(1, 3))
    places = draw(st.integers(1, 2))
    mostly = st.integers(0, 7).map(bool)
    able: list[dict[int, frozenset[int]]] = []
    for _ in range(people):
        there = {
            place: frozenset(t for t in range(intervals) if draw(mostly))
            for place in range(places)
            if draw(st.integers(0, 3))
        }
        able.append({place: when for place, when in there.items() if when})
    goals, practices = [], []
    for person in range(people):
        for place in range(places):
            if place not in able[person] and draw(st.booleans()):
                possible = frozenset(t for t in range(intervals) if draw(mostly))
                goals.append(Goal(person, place, draw(st.integers(1, 2)), possible))
            elif place in able[person] and draw(st.integers(0, 2)) == 0:
                practices.append(Practice(person, (place,), draw(st.integers(1, 2))))
    least = draw(st.integers(1, min(2, intervals)))
    return RotationProblem(
        intervals,
        tuple(1 for _ in range(places)),
        tuple(draw(st.integers(1, 5)) for _ in range(places)),
        tuple(able),
        tuple(goals),
        tuple(practices),
        least,
        draw(st.integers(least, 5)),
        draw(st.booleans()),
    )


@MANY
@given(problems())
def test_rotation_is_as_good_as_the_best_of_all(problem: RotationProblem) -> None:
    outcome = solve_rotation(problem, Deadline(None))
    best = find_best(problem)
    if best is None:
        assert (outcome.status, outcome.plan) == ("infeasible", None)
        return
    assert outcome.status == "optimal"
    assert outcome.plan is not None
    assert outcome.measures is not None
    assert find_broken_rule(problem, outcome.plan) == ""
    measures = outcome.measures
    assert measures == measure_plan(problem, outcome.plan)
    found = (measures.largest_strain if problem.has_least_strain else 0, measures.moves, measures.learning)
    assert found == best
    assert outcome.moves_bound == measures.moves
    assert outcome.strain_bound == (measures.largest_strain if problem.has_least_strain else 0)


@MANY
@given(problems())
def test_reason_names_the_empty_intervals_or_the_fewest_rules_broken(problem: RotationProblem) -> None:
    if find_best(problem) is not None:
        return
    reasons = explain_infeasible(problem, Deadline(None))
    assert reasons
    empty = [t for t in range(problem.intervals) if not any(iterate_days(problem, t))]
    short = find_shortages(problem)
    assert [shortage.interval for shortage in short] == empty
    if empty:
        assert reasons == short
        for shortage in short:
            people = {
                person
                for person, able in enumerate(problem.able)
                if any(shortage.interval in able.get(place, ()) for place in shortage.places)
            }
            assert (set(shortage.people), shortage.missing) == (people, len(shortage.places) - len(people))
        return
    rules = {reason.rule for reason in reasons if not isinstance(reason, Shortage)}
    times = sum(reason.times for reason in reasons if not isinstance(reason, Shortage))
    assert rules
    assert times == count_least_breaks(problem, rules)
    for single in ("practice", "maximum-stay", "minimum-stay"):
        if count_least_breaks(problem, {single}) is not None:
            assert rules == {single}
            break


@settings(max_examples=draws(80), deadline=None)
@given(
    team_rows(max_people=5, max_needs=0, max_places=2),
    st.sampled_from(["learn", "keep-current", "relieve-strain"]),
    st.integers(1, 3),
    st.integers(1, 2),
)
def test_rows_of_a_team_keep_every_rule(rows: Rows, purpose: Purpose, intervals: int, least: int) -> None:
    least = min(least, intervals)
    question = RotationAsked(purpose, ON, ON, intervals=intervals, interval_weeks=1, minimum_stay=least)
    result = plan_rotation(build_team(rows), "t", question)
    absent = {row["person"] for row in rows["absences"]}  # all on the first day
    first, later = PlainTeam(rows), PlainTeam({**rows, "absences": []})
    for t in range(intervals):
        plain = later if t else first
        able = plain.able
        now = [row for row in result.rows if row.interval == t + 1]
        if result.status == "optimal":
            assert [row.place for row in now] == [place for place, _ in plain.slots]
            assert all(row.person in people for row, people in zip(now, able, strict=True))
            busy = [row.person for row in now] + [learner for row in now for learner in row.learners]
            assert len(busy) == len(set(busy))
            assert t or not absent & set(busy)
            for row, people in zip(now, able, strict=True):
                assert not set(row.learners) & people
        elif result.status == "infeasible":
            named = [reason for reason in result.reasons if reason.interval == t + 1 and reason.rule == "able-people"]
            short = {reason.interval for reason in result.reasons if reason.rule == "able-people"}
            assert bool(named) == (count_filled(able) < len(able)) or not short
            for reason in named:
                assert reason.missing == len(reason.places) - len(reason.people) > 0
    for person in result.people:
        held = [row.interval for row in result.rows if row.person == person.person]
        beside = [row.interval for row in result.rows if person.person in row.learners]
        assert (person.intervals_held, person.intervals_learning) == (len(held), len(beside))
        assert person.not_there == ((1,) if person.person in absent else ())
        assert all(row.held >= row.wanted for row in person.practice)
    if result.people:
        assert all(len(learner.intervals) >= learner.wanted for learner in result.learners)
        assert result.moves == sum(person.moves for person in result.people)
        assert result.largest_strain == max(person.strain for person in result.people)


PROBLEM = RotationProblem(
    intervals=3,
    slots=(1, 1),
    strain=(2, 5),
    able=({0: frozenset({0, 1, 2}), 1: frozenset({0, 1, 2})}, {0: frozenset({0, 1, 2}), 1: frozenset({1, 2})}, {}),
    goals=(Goal(2, 1, 1, frozenset({0, 1, 2})),),
    practices=(Practice(1, (1,), 1),),
    maximum_stay=2,
)
GOOD = Plan(held=((1, 0, 0), (0, 1, 1), (-1, -1, -1)), learning=((-1,) * 3, (-1,) * 3, (0, -1, -1)))


def test_good_plan_breaks_nothing_and_is_measured() -> None:
    assert find_broken_rule(PROBLEM, GOOD) == ""
    assert [(s.person, s.place, s.goal, s.first, s.last) for s in iterate_stays(PROBLEM, GOOD)] == [
        (0, 1, -1, 0, 0),
        (0, 0, -1, 1, 2),
        (1, 0, -1, 0, 0),
        (1, 1, -1, 1, 2),
        (2, 1, 0, 0, 0),
    ]
    measures = measure_plan(PROBLEM, GOOD)
    assert (measures.largest_strain, measures.moves, measures.learning) == (12, 2, 1)


@pytest.mark.parametrize(
    ("held", "learning", "fault"),
    [
        (((1, 0, 0), (0, 1, -1), (-1, -1, -1)), GOOD.learning, "place 1 is held by 0 of 1 people in interval 2"),
        (((0, 0, 0), (1, 1, 1), (-1, -1, -1)), GOOD.learning, "person 1 cannot hold place 1 in interval 0"),
        (((1, 1, 1), (0, 0, 0), (-1, -1, -1)), GOOD.learning, "person 0 stays 3 intervals at place 1"),
        (GOOD.held, ((-1,) * 3, (-1,) * 3, (-1,) * 3), "person 2 learns place 1 in too few intervals"),
        (GOOD.held, ((0, -1, -1), (-1,) * 3, (-1,) * 3), "person 0 cannot learn place 1 in interval 0"),
        (((1, 1, 0), (0, 0, 1), (-1, -1, -1)), GOOD.learning, ""),
    ],
)
def test_broken_rule_is_named(
    held: tuple[tuple[int, ...], ...], learning: tuple[tuple[int, ...], ...], fault: str
) -> None:
    assert find_broken_rule(PROBLEM, Plan(held, learning)) == fault
