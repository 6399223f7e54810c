"""Rotations by literal enumeration: slow, and written without the code it checks.

A rotation is a tuple of intervals; an interval is a tuple with one entry for each person: None, ("hold", place) or
("learn", goal).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any

from ontology.analysis.rotation.rotation_problem import RotationProblem

Entry = tuple[str, int] | None
Rotation = tuple[tuple[Entry, ...], ...]


def iterate_days(problem: RotationProblem, t: int) -> Iterator[tuple[Entry, ...]]:
    """Yield every way to fill one interval."""
    choices: list[list[Entry]] = []
    for person, able in enumerate(problem.able):
        own: list[Entry] = [None]
        own += [("hold", place) for place, when in able.items() if t in when]
        own += [("learn", n) for n, g in enumerate(problem.goals) if g.person == person and t in g.possible]
        choices.append(own)
    for day in product(*choices):
        held = [entry[1] for entry in day if entry and entry[0] == "hold"]
        beside = [problem.goals[entry[1]].place for entry in day if entry and entry[0] == "learn"]
        if all(held.count(place) == count >= beside.count(place) for place, count in enumerate(problem.slots)):
            yield day


def iterate_rotations(problem: RotationProblem) -> Iterator[Rotation]:
    """Yield every rotation that keeps all rules."""
    days = [list(iterate_days(problem, t)) for t in range(problem.intervals)]
    yield from (rotation for rotation in product(*days) if keeps_rules(problem, rotation))


def get_runs(rotation: Rotation, person: int) -> list[tuple[Entry, int, int]]:
    """Return (entry, first interval, length) of a person's unbroken runs."""
    runs: list[tuple[Entry, int, int]] = []
    for t, day in enumerate(rotation):
        if runs and runs[-1][0] == day[person]:
            entry, first, length = runs[-1]
            runs[-1] = (entry, first, length + 1)
        else:
            runs.append((day[person], t, 1))
    return [run for run in runs if run[0] is not None]


def keeps_rules(problem: RotationProblem, rotation: Rotation) -> bool:
    """Whether stays and practice are kept."""
    for person in range(len(problem.able)):
        for _, _, length in get_runs(rotation, person):
            if length < problem.minimum_stay or length > problem.maximum_stay:
                return False
    for number, goal in enumerate(problem.goals):
        if sum(("learn", number) in day for day in rotation) < goal.wanted:
            return False
    return all(
        sum(day[p.person] in [("hold", place) for place in p.places] for day in rotation) >= p.wanted
        for p in problem.practices
    )


def get_cost(problem: RotationProblem, rotation: Rotation) -> tuple[int, int, int]:
    """Return the largest sum of strain, moves and intervals of learning."""
    carried = [0]
    moves = learning = 0
    for person in range(len(problem.able)):
        own = 0
        for entry, first, length in get_runs(rotation, person):
            assert entry is not None
            place = entry[1] if entry[0] == "hold" else problem.goals[entry[1]].place
            own += problem.strain[place] * length
            moves += first > 0
            learning += length * (entry[0] == "learn")
        carried.append(own)
    return max(carried), moves, learning


def find_best(problem: RotationProblem) -> tuple[int, ...] | None:
    """Return the least cost in the order of aims; None when no rotation keeps all rules."""
    costs = [get_cost(problem, rotation) for rotation in iterate_rotations(problem)]
    if not costs:
        return None
    return min(costs) if problem.has_least_strain else (0, *min(cost[1:] for cost in costs))


def count_least_breaks(problem: RotationProblem, rules: set[str]) -> Any:
    """Return the least number of breaks of some soft rules, the others kept; None when that is impossible."""
    best = None
    days = [list(iterate_days(problem, t)) for t in range(problem.intervals)]
    for rotation in product(*days):
        breaks = {"practice": 0, "minimum-stay": 0, "maximum-stay": 0}
        for person in range(len(problem.able)):
            for _, _, length in get_runs(rotation, person):
                breaks["minimum-stay"] += length < problem.minimum_stay
                breaks["maximum-stay"] += max(0, length - problem.maximum_stay)
        for number, goal in enumerate(problem.goals):
            breaks["practice"] += max(0, goal.wanted - sum(("learn", number) in day for day in rotation))
        for p in problem.practices:
            got = sum(day[p.person] in [("hold", place) for place in p.places] for day in rotation)
            breaks["practice"] += max(0, p.wanted - got)
        if any(count and rule not in rules for rule, count in breaks.items()):
            continue
        total = sum(breaks.values())
        best = total if best is None else min(best, total)
    return best
