"""The largest readiness that a budget of hours and money buys, exactly. Pure.

A role's requirements become soft goals of a delete-free problem: every level on the way that some course reaches is
worth its share of readiness, and is either collected (its level is reached) or forgone at that price (soft goals
compiled away: Keyder & Geffner 2009, Journal of Artificial Intelligence Research 36). The budget is a side row each for
minutes and cents. Then the engine of learning paths answers: least forgone first, then the aims of a path, then ids.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from ontology.analysis.engine.landmarks import solve_cheapest_plan
from ontology.analysis.engine.relaxed import RelaxedProblem, SideRow, find_applicable_order, find_closure
from ontology.analysis.paths.aims import Aim, get_whole_cents, get_whole_minutes, read_decimal
from ontology.analysis.paths.budget_greedy import choose_greedily
from ontology.analysis.paths.catalogue import Catalogue, Fact, Offer, Stage, StagedProblem, build_staged_problem
from ontology.analysis.profiles.profile import add_what_it_hangs_on, count_levels
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Budget", "Purchase", "buy_readiness", "limit_to_budget"]

_FINEST_WEIGHT: Final = 1000
"""Weights are compared to the nearest fraction with at most this denominator."""


@dataclass(frozen=True, slots=True)
class Budget:
    """The most study hours and the most money; None for no limit."""

    max_hours: float | None = None
    max_cost: float | None = None

    @property
    def is_open(self) -> bool:
        """Whether nothing is limited."""
        return self.max_hours is None and self.max_cost is None

    @property
    def max_minutes(self) -> int | None:
        """Whole minutes."""
        return None if self.max_hours is None else get_whole_minutes(self.max_hours)

    @property
    def max_cents(self) -> int | None:
        """Whole hundredths of money."""
        return None if self.max_cost is None else get_whole_cents(self.max_cost)

    def allows(self, offers: Sequence[Offer]) -> bool:
        """Tell whether it pays for all of these courses."""
        minutes, cents = self.max_minutes, self.max_cents
        return (minutes is None or sum(o.minutes for o in offers) <= minutes) and (
            cents is None or sum(o.cents for o in offers) <= cents
        )


@dataclass(frozen=True, slots=True)
class Purchase:
    """What a budget buys: the courses in an order one can take, the levels that count for readiness (as facts).

    `forgone_bound` is the share of readiness that every choice forgoes, of what could be reached without a budget;
    `is_proved`: this one forgoes no more.
    """

    offers: tuple[Offer, ...]
    collected: frozenset[Fact]
    forgone_bound: Fraction
    is_proved: bool


def limit_to_budget(staged: StagedProblem, budget: Budget) -> StagedProblem:
    """Return the problem with the budget as limits on its courses; booked ones cost nothing of it."""
    problem = staged.problem
    free = set(problem.free_operators)
    rows = []
    for limit, costs in (
        (budget.max_minutes, [offer.minutes for offer, _ in staged.operators]),
        (budget.max_cents, [offer.cents for offer, _ in staged.operators]),
    ):
        entries = tuple((n, cost) for n, cost in enumerate(costs) if cost and n not in free)
        if limit is not None and sum(cost for _, cost in entries) > limit:
            rows.append(SideRow(entries, limit))
    return replace(staged, problem=replace(problem, side_rows=tuple(rows))) if rows else staged


def buy_readiness(
    snapshot: Snapshot,
    requirements: Sequence[Requirement],
    catalogue: Catalogue,
    levels: Mapping[str, int],
    reached: Mapping[str, int],
    budget: Budget,
    *,
    aims: Sequence[Aim],
    booked: AbstractSet[str],
    pace: float,
    time_limit_s: float | None,
) -> Purchase:
    """Return the courses within the budget that bring the largest readiness; ties by the aims in order, then ids.

    Parameters
    ----------
    snapshot : Snapshot
        What levels hang on: one that stays suspended adds nothing.
    requirements : sequence of Requirement
        All of the role, whatever their necessity.
    catalogue : Catalogue
        Courses that may be chosen, and the booked ones.
    levels, reached : Mapping of competency id to level
        Held at the start; reached by all courses together.
    booked : set of str
        Taken as soon as they can be; they cost nothing of the budget.
    pace : float
        Study hours a week, for weeks.
    time_limit_s : float or None
        Seconds; None: until proved.

    Raises
    ------
    SolverError
        The solver failed.

    Notes
    -----
    NP-hard: a knapsack whose items share courses. Weights count to the nearest fraction with a denominator of at
    most 1000, so that all sums are whole numbers.
    """
    gains = _get_gains(snapshot, requirements, catalogue, levels, reached)
    facts = sorted(gains)
    asked = [_list_open(snapshot, fact, levels) for fact in facts]
    wanted = frozenset[Fact]().union(*asked)
    staged = build_staged_problem(catalogue, [Stage(levels, wanted)], aims=aims, booked=booked, pace=pace)
    staged = limit_to_budget(staged, budget)
    if not gains:
        return Purchase((), frozenset(), Fraction(0), True)
    step = Fraction(
        math.gcd(*(gain.numerator for gain in gains.values())), math.lcm(*(gain.denominator for gain in gains.values()))
    )
    worth = [int(gains[fact] / step) for fact in facts]
    number = {(i, level): position for position, (i, level, _) in enumerate(staged.facts)}
    needed = [frozenset(number[fact] for fact in some) for some in asked]
    problem = _compile_soft_goals(staged, needed, worth)
    result = solve_cheapest_plan(problem, time_limit_s=time_limit_s)
    count = len(staged.operators)
    chosen = [operator for operator in result.operators if operator < count]
    if not result.is_proved:
        chosen = _take_better(staged, needed, worth, chosen)
    reached_facts = find_closure(staged.problem, chosen)
    return Purchase(
        offers=tuple(staged.operators[o][0] for o in find_applicable_order(staged.problem, chosen)),
        collected=frozenset[Fact]().union(
            *(some for some, numbers in zip(asked, needed, strict=True) if numbers <= reached_facts)
        ),
        forgone_bound=result.lower_bound * step,
        is_proved=result.is_proved,
    )


def _take_better(
    staged: StagedProblem, needed: Sequence[frozenset[int]], worth: Sequence[int], chosen: list[int]
) -> list[int]:
    """Return the better by readiness of the courses found when time was up and those of a quick choice."""

    def get_worth(operators: Sequence[int]) -> int:
        reached = find_closure(staged.problem, operators)
        return sum(value for some, value in zip(needed, worth, strict=True) if some <= reached)

    by_fact: Counter[int] = Counter()
    for some, value in zip(needed, worth, strict=True):
        by_fact.update(dict.fromkeys(some, value))
    quick = choose_greedily(staged.problem, by_fact)
    return quick if get_worth(quick) > get_worth(chosen) else chosen


def _list_open(snapshot: Snapshot, fact: Fact, levels: Mapping[str, int]) -> frozenset[Fact]:
    """Return what must be learned so that a level counts: it and what it hangs on, as far as these are not held."""
    together = add_what_it_hangs_on(snapshot, dict([fact]))
    return frozenset((i, level) for i, level in together.items() if level > levels.get(i, 0))


def _get_gains(
    snapshot: Snapshot,
    requirements: Sequence[Requirement],
    catalogue: Catalogue,
    levels: Mapping[str, int],
    reached: Mapping[str, int],
) -> dict[Fact, Fraction]:
    """Return what each level that a course can stop at adds to readiness; that of what is suspended now, too."""
    held, most = count_levels(snapshot, levels), count_levels(snapshot, {**levels, **reached})
    weights = {r.competency: read_decimal(r.weight).limit_denominator(_FINEST_WEIGHT) for r in requirements}
    total = sum(weights.values(), Fraction(0))
    gains: dict[Fact, Fraction] = {}
    for requirement in requirements:
        i, before = requirement.competency, held.get(requirement.competency, 0)
        stops = {min(level, requirement.level) for level, _ in catalogue.by_competency.get(i, ())}
        stops.add(min(levels.get(i, 0), requirement.level))
        for stop in sorted(stops):
            if before < stop <= most.get(i, 0):
                gains[i, stop] = weights[i] * (stop - before) / requirement.level / total
                before = stop
    return gains


def _compile_soft_goals(
    staged: StagedProblem, needed: Sequence[frozenset[int]], worth: Sequence[int]
) -> RelaxedProblem:
    """Return the problem with two operators more for each soft goal: collect it, or forgo it at its worth.

    Every plan holds exactly one of the two, so their number settles no ties; their ids stand after all course ids.
    """
    problem = staged.problem
    size, more = problem.fact_count, len(needed)
    settled = [frozenset({size + position}) for position in range(more)]
    nothing: frozenset[int] = frozenset()
    return RelaxedProblem(
        fact_count=size + more,
        operator_ids=(
            *problem.operator_ids,
            *(f"~collect {position:04d}" for position in range(more)),
            *(f"~forgo {position:04d}" for position in range(more)),
        ),
        conditions=(
            *problem.conditions,
            *needed,
            *(nothing for _ in needed),
        ),
        effects=(*problem.effects, *settled, *settled),
        aims=(
            (*(0 for _ in problem.operator_ids), *(0 for _ in needed), *worth),
            *((*aim, *(0 for _ in range(2 * more))) for aim in problem.aims),
        ),
        initial=problem.initial,
        goals=frozenset(range(size, size + more)),
        is_free=(*problem.is_free, *(False for _ in range(2 * more))) if problem.is_free else (),
        side_rows=problem.side_rows,
    )
