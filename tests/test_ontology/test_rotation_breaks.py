"""Which rules have to give way where no rotation keeps them all, and in which order they are told: by hand."""

from __future__ import annotations

from dataclasses import replace

from brute_rotation import count_least_breaks

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation_problem import Goal, Practice, RotationProblem
from ontology.analysis.rotation.rotation_search import BrokenWish, Shortage, explain_infeasible, find_shortages


def build(able: list[dict[int, set[int]]], *, intervals: int, places: int = 1, longest: int = 9) -> RotationProblem:
    """Return places of one slot each; `longest` is the maximum stay."""
    return RotationProblem(
        intervals=intervals,
        slots=(1,) * places,
        strain=(1,) * places,
        able=tuple({place: frozenset(when) for place, when in own.items()} for own in able),
        maximum_stay=longest,
    )


def explain(problem: RotationProblem) -> list[Shortage] | list[BrokenWish]:
    return explain_infeasible(problem, Deadline(None))


def test_practice_is_told_before_stays_and_each_with_how_often() -> None:
    # the other may be there in the first interval only, and should be twice: then the first stays two of at most one
    both = build([{0: {0, 1, 2}}, {0: {0}}], intervals=3, longest=1)
    problem = replace(both, practices=(Practice(1, (0,), 2),))
    assert count_least_breaks(problem, {"practice"}) is None
    assert count_least_breaks(problem, {"maximum-stay"}) is None
    assert count_least_breaks(problem, {"practice", "maximum-stay"}) == 2
    assert explain(problem) == [
        BrokenWish("practice", 1, (0,), -1, 1),
        BrokenWish("maximum-stay", 0, (0,), 1, 1),
    ]


def test_stays_too_long_are_told_by_interval_and_then_by_place() -> None:
    # no one can change places: the second person holds the first place, the first the second, for three intervals
    problem = build([{1: {0, 1, 2}}, {0: {0, 1, 2}}], intervals=3, places=2, longest=1)
    assert explain(problem) == [
        BrokenWish("maximum-stay", 1, (0,), 0, 1),
        BrokenWish("maximum-stay", 0, (1,), 0, 1),
        BrokenWish("maximum-stay", 1, (0,), 1, 1),
        BrokenWish("maximum-stay", 0, (1,), 1, 1),
    ]


def test_missing_practice_is_told_by_places_and_then_by_person() -> None:
    able: list[dict[int, set[int]]] = [{0: {0}, 1: {0}}, {0: {0}, 1: {0}}]
    free = build(able, intervals=1, places=2)
    practices = (Practice(0, (1,), 2), Practice(1, (0,), 2), Practice(0, (0,), 3))
    problem = replace(free, practices=practices)
    # at best each holds the place of the first two wishes: 1 + 1 + 3 intervals are missing
    assert count_least_breaks(problem, {"practice"}) == 5
    assert explain(problem) == [
        BrokenWish("practice", 0, (0,), -1, 3),
        BrokenWish("practice", 1, (0,), -1, 1),
        BrokenWish("practice", 0, (1,), -1, 1),
    ]


def test_rules_that_hold_are_not_named() -> None:
    # someone there for one interval of at least two: a stay too short, and nothing else
    problem = replace(build([{0: {0, 1, 2}}, {0: {3}}], intervals=4), minimum_stay=2)
    assert explain(problem) == [BrokenWish("minimum-stay", 1, (0,), 3, 1)]


def test_learning_that_cannot_be_had_is_missing_practice() -> None:
    free = build([{0: {0, 1}}, {}], intervals=2)
    problem = replace(free, goals=(Goal(1, 0, 3, frozenset({0, 1})),))
    assert explain(problem) == [BrokenWish("practice", 1, (0,), -1, 1)]


def test_an_interval_without_enough_able_people_comes_before_every_rule() -> None:
    problem = build([{0: {0, 1}, 1: {0}}, {1: {0}}], intervals=2, places=2, longest=1)
    assert find_shortages(problem) == [Shortage(1, (1,), (), 1)]
    assert explain(problem) == [Shortage(1, (1,), (), 1)]
