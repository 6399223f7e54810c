"""The plan without proof: its steps take what they need, and nothing that no goal misses stays in it."""

from __future__ import annotations

from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.training.learners import TeamLearning, build_team_learning
from ontology.analysis.training.training_goals import TrainingGoals, build_goals
from ontology.analysis.training.training_greedy import build_greedy_plan, remove_useless
from ontology.analysis.training.training_rules import TrainingAsked, build_learner_rules
from ontology.analysis.training.training_tally import TrainingTally


def build(
    people: Rows,
    needs: dict[str, int],
    *courses: tuple[str, float, str, str],
    limit_minutes: int | None = None,
    criticality: dict[str, int] | None = None,
) -> tuple[TeamLearning, TrainingGoals]:
    """Return what a plan is about; needs are competency -> people at level 2, courses (id, hours, asked, given)."""
    tables: dict[str, list[dict[str, Any]]] = {
        "cover_needs": [
            {"team": "t", "competency": c, "level": 2, "target": n, "criticality": (criticality or {}).get(c, 3)}
            for c, n in needs.items()
        ],
        "courses": [{"id": course, "label": course, "hours": hours} for course, hours, _, _ in courses],
    }
    for name, column in (("entry_conditions", 2), ("outcomes", 3)):
        tables[name] = [
            {"course": row[0], "competency": text[0], "level": int(text[2:])}
            for row in courses
            for text in str(row[column]).split()
        ]
    presence = get_presence(build_team(people, **tables), "t", ON)
    goals = build_goals(presence, None, criticality is not None)
    hours = None if limit_minutes is None else limit_minutes / 60
    rules = build_learner_rules(presence, TrainingAsked(hours_limit=hours))
    return build_team_learning(presence, goals, rules), goals


def name_courses(team: TeamLearning, plan: dict[str, frozenset[int]]) -> dict[str, set[str]]:
    return {p: {team.learners[p].offers[o].id for o in operators} for p, operators in plan.items()}


def number_courses(team: TeamLearning, person: str, *ids: str) -> frozenset[int]:
    return frozenset(n for n, offer in enumerate(team.learners[person].offers) if offer.id in ids)


def test_a_step_takes_the_courses_that_its_course_waits_for() -> None:
    chain = (("x1", 3.0, "", "a:1"), ("x2", 3.0, "a:1", "c:1"), ("x3", 3.0, "c:1", "a:2"))
    team, goals = build(build_team_rows(p={}), {"a": 1}, *chain)
    assert name_courses(team, build_greedy_plan(team, goals)) == {"p": {"x1", "x2", "x3"}}


def test_a_step_beyond_the_limit_of_minutes_is_left_out() -> None:
    courses = (("x1", 3.0, "", "a:2"), ("x2", 3.0, "", "b:2"))
    for limit, count in ((360, 2), (359, 1), (179, 0)):
        team, goals = build(build_team_rows(p={}), {"a": 1, "b": 1}, *courses, limit_minutes=limit)
        assert len(build_greedy_plan(team, goals).get("p", ())) == count


def test_the_person_who_closes_most_for_the_least_learns_first() -> None:
    courses = (("x1", 6.0, "", "a:1"), ("x2", 5.0, "a:1", "a:2"))
    team, goals = build(build_team_rows(p={}, q={"a": 1}), {"a": 1}, *courses)
    assert name_courses(team, build_greedy_plan(team, goals)) == {"q": {"x2"}}


def test_of_two_courses_to_one_level_the_dearer_is_useless() -> None:
    team, goals = build(build_team_rows(p={}), {"a": 1}, ("x1", 3.0, "", "a:2"), ("x2", 6.0, "", "a:2"))
    both = number_courses(team, "p", "x1", "x2")
    assert name_courses(team, remove_useless(team, goals, {"p": both})) == {"p": {"x1"}}


def test_a_person_nobody_misses_has_no_courses_left() -> None:
    team, goals = build(build_team_rows(p={}, q={}), {"a": 1}, ("x1", 3.0, "", "a:2"))
    plan = {person: number_courses(team, person, "x1") for person in "pq"}
    assert name_courses(team, remove_useless(team, goals, plan)) == {"p": {"x1"}}


def test_a_tally_weighs_who_is_missing_and_counts_nobody_beyond_the_wanted() -> None:
    courses = (("x1", 3.0, "", "a:2"), ("x2", 3.0, "", "b:2"))
    team, goals = build(build_team_rows(p={}, q={}, r={}), {"a": 2, "b": 1}, *courses, criticality={"a": 5, "b": 2})
    tally = TrainingTally(team, goals)
    assert tally.missing == 2 * 5 + 2
    left = []
    for person in "pqr":
        x1 = number_courses(team, person, "x1")
        left.append(tally.get_missing_with(person, x1))
        tally.set_courses(person, x1)
        left.append(tally.missing)
    assert left == [7, 7, 2, 2, 2, 2]
    assert [tally.is_open(n) for n in (0, 1)] == [False, True]
    tally.set_courses("p", frozenset())
    tally.set_courses("q", frozenset())
    assert (tally.missing, set(tally.plan), tally.is_open(0)) == (7, {"r"}, True)


def test_a_tally_weighs_who_is_missing_for_places_once_for_the_scarcest_set() -> None:
    presence = get_presence(
        build_team(
            build_team_rows(p={}, q={}),
            roles=[{"id": "ra", "label": "ra"}],
            requirements=[{"role": "ra", "competency": "a", "level": 2}],
            places=[{"id": "one", "team": "t", "role": "ra", "count": 2}],
            courses=[{"id": "x1", "label": "x1", "hours": 3.0}],
            outcomes=[{"course": "x1", "competency": "a", "level": 2}],
        ),
        "t",
        ON,
    )
    goals = build_goals(presence, 0, True)
    team = build_team_learning(presence, goals)
    tally = TrainingTally(team, goals)
    assert (tally.missing, tally.has_open_slots) == (6, True)
    tally.set_courses("p", number_courses(team, "p", "x1"))
    assert (tally.missing, tally.has_open_slots) == (3, True)
    assert tally.get_missing_with("q", number_courses(team, "q", "x1")) == 0
