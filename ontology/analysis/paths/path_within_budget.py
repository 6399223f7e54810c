"""Which courses a path holds: the cheapest to every target, or what a budget buys of them. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.aims import Aim
from ontology.analysis.paths.budget import Budget, buy_readiness, limit_to_budget
from ontology.analysis.paths.catalogue import Fact, Offer, StagedProblem
from ontology.analysis.paths.path_problem import PathProblem
from ontology.analysis.paths.planner import Plan, solve_staged
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Choice", "choose_courses"]

_UNITS: Final[dict[Aim, int]] = {"hours": 60, "cost": 100, "courses": 1}
"""What a whole number of the engine is, by aim; weeks have the parts of their problem."""

_WHOLE_SHARE: Final = 0.3
"""The path without a budget may take so much of the time limit where there is a budget to keep afterwards."""

_LIMITED_SHARE: Final = 0.4
"""The path within the budget may take so much of the time that is left then; the rest is for readiness."""


@dataclass(frozen=True)
class Choice:
    """Courses and what is known of them.

    Attributes
    ----------
    offers : tuple of Offer
        New courses, in an order one can take (booked ones in between).
    goals : frozenset of (competency, level)
        What they are for.
    is_proved : bool
    lower_bound : float
        No path to every target that can be reached is below this, in the unit of the aim.
    whole : tuple of Offer
        The path to all of these targets without a budget, and whether it is proved.
    is_whole_proved : bool
    staged : StagedProblem
        The problem without a budget.
    within_budget : bool or None
        None without a budget.
    forgone_bound : Fraction
        Of the readiness that all courses together reach, no choice within the budget forgoes less.
    """

    offers: tuple[Offer, ...]
    goals: frozenset[Fact]
    is_proved: bool
    lower_bound: float
    whole: tuple[Offer, ...]
    is_whole_proved: bool
    staged: StagedProblem
    within_budget: bool | None = None
    forgone_bound: Fraction = Fraction(0)


def choose_courses(
    snapshot: Snapshot,
    problem: PathProblem,
    requirements: Sequence[Requirement],
    reached: Mapping[str, int],
    budget: Budget,
    deadline: Deadline,
) -> Choice:
    """Return the courses of a path.

    Parameters
    ----------
    snapshot : Snapshot
        What levels hang on, for readiness.
    requirements : sequence of Requirement
        Of the role, for readiness.
    reached : Mapping of competency id to level
        What all courses together reach.

    Notes
    -----
    With a budget up to three problems: the path without it, the path within it, the largest readiness within it.
    """
    remaining = deadline.get_remaining_s()
    if remaining is not None and not budget.is_open:
        remaining *= _WHOLE_SHARE
    staged = problem.build()
    plan = solve_staged(staged, time_limit_s=remaining)
    assert plan is not None, "goals that can be reached have a plan where nothing limits it"
    whole = tuple(offer for offer, _ in plan.order)
    bound = _get_bound(problem, staged, plan)
    if budget.is_open:
        return Choice(whole, problem.goals, plan.is_proved, bound, whole, plan.is_proved, staged)
    if budget.allows(whole):
        return Choice(whole, problem.goals, plan.is_proved, bound, whole, plan.is_proved, staged, within_budget=True)
    limited = limit_to_budget(staged, budget)
    other = None
    if not _is_too_dear(problem, plan, budget):
        remaining = deadline.get_remaining_s()
        other = solve_staged(limited, time_limit_s=None if remaining is None else remaining * _LIMITED_SHARE)
    if other is not None and other.value is not None:
        offers = tuple(offer for offer, _ in other.order)
        own_bound = _get_bound(problem, limited, other)
        return Choice(
            offers, problem.goals, other.is_proved, own_bound, whole, plan.is_proved, staged, within_budget=True
        )
    purchase = buy_readiness(
        snapshot,
        requirements,
        problem.catalogue,
        problem.levels,
        reached,
        budget,
        aims=problem.aims,
        booked=problem.booked,
        pace=problem.pace,
        time_limit_s=deadline.get_remaining_s(),
    )
    return Choice(
        offers=purchase.offers,
        goals=purchase.collected,
        # without a plan within the budget it is not known whether one leads to every target
        is_proved=purchase.is_proved and other is None,
        lower_bound=bound,
        whole=whole,
        is_whole_proved=plan.is_proved,
        staged=staged,
        within_budget=False,
        forgone_bound=purchase.forgone_bound,
    )


def _is_too_dear(problem: PathProblem, plan: Plan, budget: Budget) -> bool:
    """Tell whether the least of what is limited, as far as it is known, is above the limit."""
    limits: dict[Aim, int | None] = {"hours": budget.max_minutes, "cost": budget.max_cents}
    limit = limits.get(problem.aims[0])
    return limit is not None and plan.lower_bound > limit


def _get_bound(problem: PathProblem, staged: StagedProblem, plan: Plan) -> float:
    aim = problem.aims[0]
    return plan.lower_bound / (staged.week_parts if aim == "weeks" else _UNITS[aim])
