"""A good cross-training plan without proof: the start of the exact search, and its answer when time is short. Pure.

May import relaxed problems, learners, goals and their tally. Step by step the person and the levels that close most
for the least minutes; shared conditions of one person count once, but other ways to the same levels are not tried.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ontology.analysis.engine.estimates import compute_fact_costs
from ontology.analysis.engine.relaxed import find_closure
from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learners import Learner, Plan, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_tally import TrainingTally

__all__ = ["build_greedy_plan", "remove_useless"]


@dataclass(frozen=True, order=True)
class _Step:
    """All courses of a person after a step; `price` = minutes of the new ones for each missing person it closes."""

    price: float
    person_id: str
    facts: tuple[Fact, ...]
    minutes: int
    courses: frozenset[int]
    version: int


def build_greedy_plan(team: TeamLearning, goals: TrainingGoals) -> dict[str, frozenset[int]]:
    """Return a plan that keeps the limits of minutes and misses fewer people than no plan, where that can be.

    Notes
    -----
    O(people x goals) estimates of cost, and again those of a person whose courses change. What other people's steps
    close only shrinks (but for places), so the heap is corrected where it is read (Minoux 1978, "accelerated
    greedy").
    """
    tally = TrainingTally(team, goals)
    versions = dict.fromkeys(team.learners, 0)
    before = -1
    while tally.missing and tally.missing != before:
        before = tally.missing
        steps = [step for person_id in team.learners for step in _find_steps(tally, person_id, versions[person_id])]
        heapq.heapify(steps)
        while steps:
            step = heapq.heappop(steps)
            if step.version != versions[step.person_id]:
                continue
            gain = tally.missing - tally.get_missing_with(step.person_id, step.courses)
            if gain <= 0:
                continue
            price = step.minutes / gain
            if price > step.price:
                heapq.heappush(
                    steps, _Step(price, step.person_id, step.facts, step.minutes, step.courses, step.version)
                )
                continue
            tally.set_courses(step.person_id, step.courses)
            versions[step.person_id] += 1
            for following in _find_steps(tally, step.person_id, versions[step.person_id]):
                heapq.heappush(steps, following)
    return dict(tally.plan)


def _find_steps(tally: TrainingTally, person_id: str, version: int) -> list[_Step]:
    """Return a step for each set of levels that an open goal would count and the person lacks."""
    goals = tally.goals
    wishes = {goal.facts for n, goal in enumerate(goals.counts) if tally.is_open(n) and person_id in goal.people}
    if tally.has_open_slots:
        wishes |= {kind.facts for kind in goals.kinds if kind.facts is not None and person_id in kind.people}
    learner = tally.team.learners[person_id]
    chosen = tally.plan.get(person_id, frozenset())
    reached = find_closure(learner.problem, chosen)
    steps: list[_Step] = []
    wanted = [facts for facts in sorted(tuple(sorted(wish)) for wish in wishes) if learner.is_reachable(facts)]
    if not wanted:
        return steps
    supporters = _find_supporters(tally.team, person_id, chosen)
    for facts in wanted:
        if tally.can_do(person_id, facts):
            continue
        courses = _get_cheap_courses(learner, supporters, chosen, reached, facts)
        if not tally.team.is_within_limits({person_id: courses}):
            continue
        gain = tally.missing - tally.get_missing_with(person_id, courses)
        if gain > 0:
            minutes = tally.team.get_aims({person_id: courses - chosen})[0]
            steps.append(_Step(minutes / gain, person_id, facts, minutes, courses, version))
    return steps


def _find_supporters(team: TeamLearning, person_id: str, chosen: frozenset[int]) -> list[int]:
    """Return for each fact the course it seems to come cheapest by; those chosen cost nothing."""
    learner = team.learners[person_id]
    costs = [
        0.0 if operator in chosen else learner.offers[operator].minutes + learner.coach_minutes[operator] + 1e-3
        for operator in range(len(learner.problem.operator_ids))
    ]
    return compute_fact_costs(learner.problem, costs, sum)[1]


def _get_cheap_courses(
    learner: Learner,
    supporters: Sequence[int],
    chosen: frozenset[int],
    reached: frozenset[int],
    facts: Iterable[Fact],
) -> frozenset[int]:
    """Add the courses that seem cheapest for the levels to those chosen."""
    problem = learner.problem
    courses = set(chosen)
    stack = [number for number in learner.get_open_facts(facts) if number not in reached]
    done = {*stack, *reached}
    while stack:
        operator = supporters[stack.pop()]
        courses.add(operator)
        fresh = problem.conditions[operator] - done
        done |= fresh
        stack.extend(fresh)
    return frozenset(courses)


def remove_useless(team: TeamLearning, goals: TrainingGoals, plan: Plan) -> dict[str, frozenset[int]]:
    """Return the plan without courses that no goal misses, the dearest first."""
    tally = TrainingTally(team, goals)
    for person_id, operators in plan.items():
        tally.set_courses(person_id, operators)
    pairs = [(team.get_aims({p: frozenset({o})}), p, o) for p, operators in plan.items() for o in operators]
    for _, person_id, operator in sorted(pairs, reverse=True):
        left = tally.plan[person_id] - {operator}
        if tally.get_missing_with(person_id, left) <= tally.missing:
            tally.set_courses(person_id, left)
    return dict(tally.plan)
