"""A good cross-training plan without proof: the start of the exact search, and its answer when time is short. Pure.

May import relaxed problems, learners and goals. Step by step the person and the levels that close most for the least
minutes; shared conditions of one person count once, but other ways to the same levels are not tried.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ontology.analysis.catalogue import Fact
from ontology.analysis.learners import CanDoAfter, Plan, TeamLearning
from ontology.analysis.relaxed import get_closure, get_fact_costs
from ontology.analysis.training_goals import CountGoal, TrainingGoals

__all__ = ["build_greedy_plan", "remove_useless"]


@dataclass(frozen=True)
class _Step:
    """A person's courses after a step, and what they lead to."""

    courses: frozenset[int]
    minutes: int
    reached: frozenset[Fact]


def build_greedy_plan(team: TeamLearning, goals: TrainingGoals) -> dict[str, frozenset[int]]:
    """Return a plan that keeps the limit of minutes and misses fewer people than no plan, where that can be.

    Notes
    -----
    O(people trained x people x goals) steps looked at; a step is worked out anew when the person's courses change.
    """
    plan: dict[str, frozenset[int]] = {}
    known: dict[tuple[str, frozenset[Fact]], _Step | None] = {}
    while True:
        best: tuple[float, str, frozenset[int]] | None = None
        can_do = CanDoAfter(team, plan)
        open_goals = [goal for goal in goals.counts if goal.count_missing(can_do)]
        scarce = goals.find_scarce_kinds(can_do)
        for person_id, facts in _iterate_open(team, goals, open_goals, bool(scarce), can_do):
            before = plan.get(person_id, frozenset())
            key = (person_id, facts)
            if key not in known:
                known[key] = _find_step(team, person_id, before, facts)
            step = known[key]
            if step is None:
                continue
            gain = sum(
                goal.weight
                for goal in open_goals
                if person_id in goal.people
                and not can_do(person_id, goal.facts)
                and team.learners[person_id].holds_after(goal.facts, step.reached)
            )
            if scarce:
                left = goals.find_scarce_kinds(CanDoAfter(team, {**plan, person_id: step.courses}))
                gain += goals.place_weight * (scarce[0].missing - (left[0].missing if left else 0))
            if gain > 0:
                candidate = (step.minutes / gain, person_id, step.courses)
                if best is None or candidate[:2] < best[:2]:
                    best = candidate
        if best is None:
            return plan
        _, chosen, courses = best
        plan = {**plan, chosen: courses}
        known = {key: step for key, step in known.items() if key[0] != chosen}


def _iterate_open(
    team: TeamLearning, goals: TrainingGoals, open_goals: list[CountGoal], is_scarce: bool, can_do: CanDoAfter
) -> Iterator[tuple[str, frozenset[Fact]]]:
    """Yield each person with each set of levels that an open goal would count and the person lacks, once."""
    seen: set[tuple[str, frozenset[Fact]]] = set()
    wishes = [(goal.people, goal.facts) for goal in open_goals]
    if is_scarce:
        wishes += [(kind.people, kind.facts) for kind in goals.kinds if kind.facts is not None]
    for people, facts in wishes:
        for person_id in people:
            key = (person_id, facts)
            if key not in seen and team.learners[person_id].is_reachable(facts) and not can_do(person_id, facts):
                seen.add(key)
                yield key


def _find_step(team: TeamLearning, person_id: str, chosen: frozenset[int], facts: frozenset[Fact]) -> _Step | None:
    """Add the courses that seem cheapest for the levels to those chosen; None above the limit of minutes."""
    learner = team.learners[person_id]
    problem = learner.problem
    costs = [
        0.0 if operator in chosen else learner.offers[operator].minutes + learner.coach_minutes[operator] + 1e-3
        for operator in range(len(problem.operator_ids))
    ]
    _, supporters = get_fact_costs(problem, costs, sum)
    courses = set(chosen)
    stack = [number for number in learner.get_open_facts(facts) if number not in get_closure(problem, chosen)]
    done = set(stack)
    while stack:
        operator = supporters[stack.pop()]
        courses.add(operator)
        fresh = problem.conditions[operator] - done
        done |= fresh
        stack.extend(fresh)
    if team.limit_minutes is not None and team.get_minutes(person_id, courses) > team.limit_minutes:
        return None
    fresh_minutes = team.get_aims({person_id: frozenset(courses - chosen)})[0]
    return _Step(frozenset(courses), fresh_minutes, learner.get_reached(courses))


def remove_useless(team: TeamLearning, goals: TrainingGoals, plan: Plan) -> dict[str, frozenset[int]]:
    """Return the plan without courses that no goal misses, the dearest first."""
    kept = {person_id: operators for person_id, operators in plan.items() if operators}
    missing = goals.count_missing(CanDoAfter(team, kept))
    pairs = [(team.get_aims({p: frozenset({o})}), p, o) for p, operators in kept.items() for o in operators]
    for _, person_id, operator in sorted(pairs, reverse=True):
        trial = {**kept, person_id: kept[person_id] - {operator}}
        if goals.count_missing(CanDoAfter(team, trial)) <= missing:
            kept = {p: operators for p, operators in trial.items() if operators}
    return kept
