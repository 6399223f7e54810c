"""A staged problem put to the engine, and its answer as offers in stages. Pure.

Without limits on stages a problem falls apart into parts that share no course. Their optima add up, ties and all, and
the same parts come back in many questions, so each is solved once.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from ontology.analysis.engine.landmarks import solve_cheapest_plan
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import Offer, StagedProblem

__all__ = ["PartSolver", "Placement", "Plan", "solve_staged", "split_problem"]

Placement = tuple[tuple[Offer, int], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The courses chosen.

    `order` holds (offer, stage) in an order in which every entry condition is met. `value` is the total in the first
    aim (minutes, cents or number), None where time was up before any plan was found; `lower_bound` holds whatever
    was found.
    """

    order: Placement
    value: int | None
    lower_bound: int
    is_proved: bool


def solve_staged(staged: StagedProblem, *, time_limit_s: float | None = None, settles_ties: bool = True) -> Plan | None:
    """Return the cheapest placement of courses; None where there is none.

    Parameters
    ----------
    time_limit_s : float or None
        Seconds; None: until proved.
    settles_ties : bool
        Whether later aims and ids settle ties; without them any plan of least cost is returned, sooner.

    Raises
    ------
    SolverError
        The solver failed.
    """
    result = solve_cheapest_plan(staged.problem, time_limit_s=time_limit_s, lexicographic=settles_ties)
    if result.status in ("unreachable", "infeasible"):
        return None
    if result.status == "unknown":
        return Plan((), None, result.lower_bound, False)
    order = tuple(staged.operators[operator] for operator in result.operators)
    return Plan(order, result.totals[0], result.lower_bound, result.is_proved)


def split_problem(staged: StagedProblem) -> list[StagedProblem]:
    """Return the parts of a problem that share neither facts nor courses, without side rows, by their first fact.

    O(size) but for a sort.
    """
    problem = staged.problem
    home = list(range(problem.fact_count))

    def find(fact: int) -> int:
        while home[fact] != fact:
            home[fact] = home[home[fact]]
            fact = home[fact]
        return fact

    firsts = []
    for conditions, effects in zip(problem.conditions, problem.effects, strict=True):
        first = find(next(iter(conditions or effects)))
        for fact in (*conditions, *effects):
            other = home[fact]
            if other != first:
                other = find(other)
                home[other] = first
        firsts.append(first)
    parts: dict[int, tuple[list[int], list[int]]] = {find(fact): ([], []) for fact in range(problem.fact_count)}
    for fact in range(problem.fact_count):
        parts[find(fact)][0].append(fact)
    for operator, fact in enumerate(firsts):
        parts[find(fact)][1].append(operator)
    return [_take_part(staged, facts, operators) for facts, operators in parts.values()]


def _take_part(staged: StagedProblem, facts: Sequence[int], operators: Sequence[int]) -> StagedProblem:
    problem = staged.problem
    number = {fact: place for place, fact in enumerate(facts)}
    return StagedProblem(
        problem=replace(
            problem,
            fact_count=len(facts),
            operator_ids=tuple(problem.operator_ids[o] for o in operators),
            conditions=tuple(frozenset(number[f] for f in problem.conditions[o]) for o in operators),
            effects=tuple(frozenset(number[f] for f in problem.effects[o]) for o in operators),
            aims=tuple(tuple(aim[o] for o in operators) for aim in problem.aims),
            goals=frozenset(number[f] for f in problem.goals if f in number),
            is_free=tuple(problem.is_free[o] for o in operators) if problem.is_free else (),
            side_rows=(),
        ),
        facts=tuple(staged.facts[f] for f in facts),
        operators=tuple(staged.operators[o] for o in operators),
        week_parts=staged.week_parts,
    )


class PlanMemory:
    """Plans of parts solved before for one catalogue, by several threads perhaps; None for a part without any."""

    def __init__(self) -> None:
        self._plans: dict[Hashable, Plan | None] = {}

    def find(self, *keys: Hashable) -> tuple[Plan | None] | None:
        """Return what is known under the first of the keys that is known, alone in a tuple; None where none is."""
        for key in keys:
            known = self._plans.get(key, _UNKNOWN)
            if not isinstance(known, _Unknown):
                return (known,)
        return None

    def keep(self, key: Hashable, plan: Plan | None, deadline: Deadline) -> None:
        """Remember a plan where it is final: proved, and its ties settled while there was time."""
        if plan is None or (plan.is_proved and not deadline.is_over()):
            if len(self._plans) >= _PLANS_KEPT:
                self._plans.clear()
            self._plans[key] = plan


class _Unknown:
    """Stands for a part that has not been solved."""


_UNKNOWN: Final = _Unknown()
_PLANS_KEPT: Final = 50_000


def join_plans(plans: Iterable[Plan | None]) -> Plan | None:
    """Return the plan for all parts together, one after the other; None where a part has none."""
    placement: list[tuple[Offer, int]] = []
    value, lower, is_proved = 0, 0, True
    for plan in plans:
        if plan is None:
            return None
        assert plan.value is not None, "only limits on stages leave the engine without a plan"
        placement.extend(plan.order)
        value += plan.value
        lower += plan.lower_bound
        is_proved = is_proved and plan.is_proved
    return Plan(tuple(placement), value, lower, is_proved)


class PartSolver:
    """Solves problems part by part, for one catalogue, and remembers the parts."""

    def __init__(self, deadline: Deadline) -> None:
        self._deadline = deadline
        self._memory = PlanMemory()

    def solve(self, staged: StagedProblem) -> Plan | None:
        """Return the cheapest placement whatever the limits on stages; None where a goal cannot be reached.

        Ties are settled where the problem has several aims.
        """
        return join_plans(map(self._solve_part, split_problem(staged)))

    def _solve_part(self, part: StagedProblem) -> Plan | None:
        # conditions and effects follow from the facts and the catalogue
        key = (part.facts, part.problem.operator_ids, part.problem.goals, len(part.problem.aims))
        known = self._memory.find(key)
        if known is not None:
            return known[0]
        plan = solve_staged(
            part, time_limit_s=self._deadline.get_remaining_s(), settles_ties=len(part.problem.aims) > 1
        )
        self._memory.keep(key, plan, self._deadline)
        return plan
