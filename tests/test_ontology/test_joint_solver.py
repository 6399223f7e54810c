"""Parts of a sequence: what landmarks prove, and which courses may wait for the time in a role."""

from __future__ import annotations

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import Catalogue, Stage, build_catalogue
from ontology.analysis.paths.planner import PlanMemory
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.joint_solver import JointSolver
from ontology.analysis.routes.level_facts import LevelFacts
from ontology.analysis.routes.route_landmarks import LandmarkBook

Courses = dict[str, tuple[float, str, str]]
"""Course -> hours, what it gives and what it asks, each as words like b2."""


def build_courses(courses: Courses) -> Catalogue:
    def split(words: str) -> list[tuple[str, int]]:
        return [(word[0], int(word[1])) for word in words.split()]

    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c d"),
        courses=[{"id": course, "label": course, "hours": hours} for course, (hours, _, _) in courses.items()],
        outcomes=[
            {"course": course, "competency": i, "level": level}
            for course, (_, gives, _) in courses.items()
            for i, level in split(gives)
        ],
        entry_conditions=[
            {"course": course, "competency": i, "level": level}
            for course, (_, _, asks) in courses.items()
            for i, level in split(asks)
        ],
    )
    return build_catalogue(company, Profile({}))


def build_book(catalogue: Catalogue) -> tuple[LandmarkBook, LevelFacts]:
    facts = LevelFacts(catalogue, [(i, 2) for i in "abcd"])
    return LandmarkBook(catalogue, facts), facts


def test_courses_that_cost_what_the_landmarks_ask_are_the_cheapest() -> None:
    book, facts = build_book(build_courses({"x": (1.0, "a1", "b1"), "y": (2.0, "b1", ""), "z": (9.0, "a1", "")}))
    goals, reach = facts.get_held({"a": 1}), facts.get_held({"a": 1, "b": 1})
    cheapest = book.find_cheapest(goals, reach)
    assert cheapest is not None
    assert [offer.id for offer in cheapest] == ["y", "x"]


def test_courses_that_cost_more_than_the_landmarks_ask_are_not_proved() -> None:
    # any two of the three are cheapest, but every cut holds two of them: shares add up to one course
    book, facts = build_book(build_courses({"x": (1.0, "a1 b1", ""), "y": (1.0, "b1 c1", ""), "z": (1.0, "c1 a1", "")}))
    goals = facts.get_held({"a": 1, "b": 1, "c": 1})
    assert sum(landmark.minutes for landmark in book.find({}, [("a", 1), ("b", 1), ("c", 1)])) == 60
    assert book.find_cheapest(goals, goals) is None


def test_what_a_goal_cannot_reach_has_no_cheapest_courses() -> None:
    book, facts = build_book(build_courses({"x": (1.0, "a1", "b1")}))
    assert book.find_cheapest(facts.get_held({"a": 1}), facts.get_held({"a": 1, "b": 1})) is None


def test_a_course_waits_for_one_that_waits_for_time_in_a_role() -> None:
    catalogue = build_courses(
        {
            "first": (1.0, "d1", ""),
            "dear": (100.0, "d1 b1", ""),
            "after-time": (2.0, "b2", "a1"),
            "after-course": (3.0, "c1", "b1"),
        }
    )
    book, facts = build_book(catalogue)
    solver = JointSolver(catalogue, facts, book, Deadline(None), PlanMemory())
    plan = solver.solve([Stage({}, frozenset({("d", 1)})), Stage({"a": 1}, frozenset({("c", 1)}))])
    assert plan is not None
    assert plan.value == 6 * 60
    assert sorted((offer.id, k) for offer, k in plan.order) == [("after-course", 1), ("after-time", 1), ("first", 0)]
