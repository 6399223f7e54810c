"""A rotation of people through places as plain numbers: what must hold, and a check of a plan against it. Pure; stdlib.

People, places and intervals are 0, 1, 2, ... A stay is an unbroken run of intervals of one person at one place in the
same part, as holder or as learner. The check is written from the rules themselves and shares nothing with the model
that a solver is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "Goal",
    "Measures",
    "Plan",
    "Practice",
    "Purpose",
    "RotationProblem",
    "Stay",
    "find_broken_rule",
    "iterate_stays",
    "measure_plan",
]

Purpose = Literal["learn", "keep-current", "relieve-strain"]


@dataclass(frozen=True, slots=True)
class Goal:
    """A person learns a place beside its holders, in at least `wanted` of the `possible` intervals."""

    person: int
    place: int
    wanted: int
    possible: frozenset[int]


@dataclass(frozen=True, slots=True)
class Practice:
    """A person holds one of some places (those of one role) in at least `wanted` intervals."""

    person: int
    places: tuple[int, ...]
    wanted: int


@dataclass(frozen=True)
class RotationProblem:
    """What a rotation must keep.

    Attributes
    ----------
    intervals : int
    slots, strain : tuple of int
        For each place how many must hold it in every interval, and how much it strains.
    able : tuple of dict of int to frozenset of int
        For each person: place -> intervals in which the person is there and able to hold it; never empty.
    goals : tuple of Goal
    practices : tuple of Practice
    minimum_stay, maximum_stay : int
        Intervals, 1 <= minimum_stay <= maximum_stay.
    has_least_strain : bool
        Whether the largest sum of strain that one person carries comes before the number of moves.
    """

    intervals: int
    slots: tuple[int, ...]
    strain: tuple[int, ...]
    able: tuple[dict[int, frozenset[int]], ...]
    goals: tuple[Goal, ...] = ()
    practices: tuple[Practice, ...] = ()
    minimum_stay: int = 1
    maximum_stay: int = 1_000_000
    has_least_strain: bool = False


@dataclass(frozen=True)
class Plan:
    """For each person and interval the place held, and the goal worked at; -1 for none. Shape (people, intervals)."""

    held: tuple[tuple[int, ...], ...]
    learning: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Stay:
    """Intervals `first` to `last` of a person at a place; `goal` is -1 for a holder."""

    person: int
    place: int
    goal: int
    first: int
    last: int

    @property
    def length(self) -> int:
        """Intervals."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class Measures:
    """What a plan costs: the largest sum of strain, stays begun after the first interval, intervals of learning."""

    largest_strain: int
    moves: int
    learning: int


def iterate_stays(problem: RotationProblem, plan: Plan) -> Iterator[Stay]:
    """Yield every stay of a plan, by person, holders first, then by time."""
    for person in range(len(problem.able)):
        for first, last, place in _iterate_runs(plan.held[person]):
            yield Stay(person, place, -1, first, last)
        for first, last, goal in _iterate_runs(plan.learning[person]):
            yield Stay(person, problem.goals[goal].place, goal, first, last)


def _iterate_runs(row: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    first = 0
    for t in range(1, len(row) + 1):
        if t == len(row) or row[t] != row[first]:
            if row[first] >= 0:
                yield first, t - 1, row[first]
            first = t


def measure_plan(problem: RotationProblem, plan: Plan) -> Measures:
    """Return what a plan costs; learners carry the strain of the place they stand beside."""
    carried = [0] * len(problem.able)
    moves = learning = 0
    for stay in iterate_stays(problem, plan):
        carried[stay.person] += problem.strain[stay.place] * stay.length
        moves += stay.first > 0
        learning += stay.length if stay.goal >= 0 else 0
    return Measures(max(carried, default=0), moves, learning)


def find_broken_rule(problem: RotationProblem, plan: Plan) -> str:
    """Return the first rule that a plan breaks, in words; empty when it keeps all of them."""
    checks: tuple[Callable[[RotationProblem, Plan], Iterator[str]], ...] = (
        _find_wrong_holders,
        _find_wrong_learners,
        _find_wrong_stays,
        _find_lack_of_practice,
    )
    return next((fault for check in checks for fault in check(problem, plan)), "")


def _find_wrong_holders(problem: RotationProblem, plan: Plan) -> Iterator[str]:
    for t in range(problem.intervals):
        held = [row[t] for row in plan.held]
        for place, count in enumerate(problem.slots):
            if held.count(place) != count:
                yield f"place {place} is held by {held.count(place)} of {count} people in interval {t}"
        for person, place in enumerate(held):
            if place >= 0 and t not in problem.able[person].get(place, ()):
                yield f"person {person} cannot hold place {place} in interval {t}"


def _find_wrong_learners(problem: RotationProblem, plan: Plan) -> Iterator[str]:
    for t in range(problem.intervals):
        beside = [0] * len(problem.slots)
        for person, row in enumerate(plan.learning):
            if row[t] < 0:
                continue
            goal = problem.goals[row[t]]
            beside[goal.place] += 1
            if goal.person != person or t not in goal.possible:
                yield f"person {person} cannot learn place {goal.place} in interval {t}"
            if plan.held[person][t] >= 0:
                yield f"person {person} learns and holds a place in interval {t}"
        for place, count in enumerate(beside):
            if count > problem.slots[place]:
                yield f"place {place} has more learners than holders in interval {t}"


def _find_wrong_stays(problem: RotationProblem, plan: Plan) -> Iterator[str]:
    for stay in iterate_stays(problem, plan):
        if not problem.minimum_stay <= stay.length <= problem.maximum_stay:
            yield f"person {stay.person} stays {stay.length} intervals at place {stay.place}"


def _find_lack_of_practice(problem: RotationProblem, plan: Plan) -> Iterator[str]:
    for number, goal in enumerate(problem.goals):
        if plan.learning[goal.person].count(number) < goal.wanted:
            yield f"person {goal.person} learns place {goal.place} in too few intervals"
    for practice in problem.practices:
        if sum(place in practice.places for place in plan.held[practice.person]) < practice.wanted:
            yield f"person {practice.person} holds places {practice.places} in too few intervals"
