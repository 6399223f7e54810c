"""The best rotation, proved, or why there is none. Pure.

May import rotation_problem, rotation_model, bottleneck, the solver door and the deadline. Aims one after another: the
largest sum of strain (where that is the purpose), moves, intervals of learning beyond what is wanted. Every plan is
checked by `find_broken_rule` before anyone sees it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations
from typing import Final, Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.solver import MixedSolution, SolverError, solve_mixed
from ontology.analysis.places.bottleneck import find_matching, find_over_demanded
from ontology.analysis.rotation.rotation_model import BrokenRule, RotationModel, Rule
from ontology.analysis.rotation.rotation_problem import Measures, Plan, RotationProblem, find_broken_rule, measure_plan

__all__ = ["BrokenWish", "RotationOutcome", "Shortage", "explain_infeasible", "find_shortages", "solve_rotation"]

_RULES: Final[tuple[Rule, ...]] = ("practice", "maximum-stay", "minimum-stay")


@dataclass(frozen=True)
class RotationOutcome:
    """The best plan found.

    `status` is "optimal", "feasible" (time limit), "infeasible" or "unknown" (time limit, no plan found). No plan has a
    largest strain below `strain_bound`, and none with this plan's largest strain fewer moves than `moves_bound`.
    """

    status: Literal["optimal", "feasible", "infeasible", "unknown"]
    plan: Plan | None
    measures: Measures | None
    strain_bound: int
    moves_bound: int


@dataclass(frozen=True, slots=True)
class Shortage:
    """An interval whose slots cannot all be filled: places (once for every slot) that compete for too few people."""

    interval: int
    places: tuple[int, ...]
    people: tuple[int, ...]
    missing: int


@dataclass(frozen=True, slots=True)
class BrokenWish:
    """A rule that has to give way, and by how much, when rules are broken as seldom as possible."""

    rule: Rule
    person: int
    places: tuple[int, ...]
    first: int
    times: int


def solve_rotation(problem: RotationProblem, deadline: Deadline) -> RotationOutcome:
    """Return the best rotation.

    Parameters
    ----------
    problem : RotationProblem
        p people, k places, t intervals.

    Returns
    -------
    RotationOutcome

    Raises
    ------
    SolverError
        The solver's plan breaks a rule.

    Notes
    -----
    A mixed-integer program of up to 2 p k t variables; whether a rotation with practice exists is NP-hard in general.
    """
    strain_bound, limit = 0, None
    best: Plan | None = None
    is_proved = True
    if problem.has_least_strain:
        model = RotationModel(problem)
        most = model.model.add_variable(1, upper=sum(problem.strain) * problem.intervals)
        model.add_strain([(most, -1)], 0)
        found = solve_mixed(model.model, time_limit_s=deadline.get_remaining_s())
        if not found.x:
            return _get_nothing(found)
        best = _read(model, found)
        is_proved = found.status == "optimal"
        limit = measure_plan(problem, best).largest_strain
        strain_bound = _get_bound(found)
    model = RotationModel(problem, largest_strain=limit)
    # one move more is never worth any number of intervals of learning less
    weight = 1 + len(model.learns)
    for column in model.starts:
        model.model.costs[column] = weight
    for column in model.learns.values():
        model.model.costs[column] = 1
    start = None if best is None else _write(model, best)
    found = solve_mixed(model.model, time_limit_s=deadline.get_remaining_s(), start=start)
    if found.x:
        best = _read(model, found)
    if best is None:
        return _get_nothing(found)
    measures = measure_plan(problem, best)
    is_optimal = is_proved and found.status == "optimal"
    return RotationOutcome(
        "optimal" if is_optimal else "feasible", best, measures, strain_bound, _get_bound(found) // weight
    )


def _get_bound(found: MixedSolution) -> int:
    """Return the lower bound of a whole objective that is never below 0."""
    return round(found.lower_bound) if found.lower_bound > 0 else 0


def _get_nothing(found: MixedSolution) -> RotationOutcome:
    return RotationOutcome("infeasible" if found.status == "infeasible" else "unknown", None, None, 0, 0)


def _read(model: RotationModel, found: MixedSolution) -> Plan:
    plan = model.read_plan(found.x)
    fault = find_broken_rule(model.problem, plan)
    if fault:
        raise SolverError(f"the solver's rotation breaks a rule: {fault}")
    return plan


def _write(model: RotationModel, plan: Plan) -> list[float]:
    """Return a plan as a solution to start from."""
    x = [0.0] * len(model.model.costs)
    for (person, place, t), column in model.holds.items():
        x[column] = float(plan.held[person][t] == place)
    for (number, t), column in model.learns.items():
        x[column] = float(plan.learning[model.problem.goals[number].person][t] == number)
    for column, (now, before) in model.starts.items():
        x[column] = max(0.0, x[now] - (0.0 if before is None else x[before]))
    return x


def find_shortages(problem: RotationProblem) -> list[Shortage]:
    """Return every interval in which some slots must stay empty, with those that compete and all able for them."""
    found = []
    for t in range(problem.intervals):
        slots = [place for place, count in enumerate(problem.slots) for _ in range(count)]
        able = [
            [f"{person:06d}" for person, places in enumerate(problem.able) if t in places.get(place, ())]
            for place in slots
        ]
        competing, people = find_over_demanded(find_matching(able))
        if competing:
            places = tuple(slots[index] for index in competing)
            found.append(Shortage(t, places, tuple(map(int, people)), len(places) - len(people)))
    return found


def explain_infeasible(problem: RotationProblem, deadline: Deadline) -> list[Shortage] | list[BrokenWish]:
    """Return why there is no rotation: too few able people in some interval, or the fewest rules that must give way.

    Rules are tried as single ones first (practice, maximum, minimum stay), then two and all three together; of the
    first that is enough, the fewest breaks are told, proved or as found when the time limit struck. Empty when the
    time limit struck before any answer.
    """
    shortages = find_shortages(problem)
    if shortages:
        return shortages
    for rules in chain.from_iterable(combinations(_RULES, size) for size in (1, 2, 3)):
        model = RotationModel(problem, soft=rules)
        if not model.broken:
            continue
        found = solve_mixed(model.model, time_limit_s=deadline.get_remaining_s())
        if found.x:
            return _get_broken_wishes(model.broken, found.x)
    return []


def _get_broken_wishes(broken: Sequence[BrokenRule], x: Sequence[float]) -> list[BrokenWish]:
    wishes = [BrokenWish(b.rule, b.person, b.places, b.first, round(x[b.column])) for b in broken]
    order = {rule: i for i, rule in enumerate(_RULES)}
    found = [wish for wish in wishes if wish.times]
    return sorted(found, key=lambda wish: (order[wish.rule], wish.first, wish.places, wish.person))
