"""The integer master alone: circles are cut off, limits are kept, and what cannot be is told with its bound."""

from __future__ import annotations

import math

from relaxed_cases import build_problem

from ontology.analysis.engine.landmark_cuts import CutFinder
from ontology.analysis.engine.landmark_master import IntegerMaster
from ontology.analysis.engine.landmark_plans import find_supporters
from ontology.analysis.engine.landmark_reduction import build_task
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.relaxed import RelaxedProblem
from ontology.analysis.engine.solver import Deadline


def build_master(problem: RelaxedProblem) -> tuple[IntegerMaster, ReducedTask, list[int]]:
    """Return a master that starts without cuts, its task and the costs of the task's operators."""
    task = build_task(problem, problem.goals)
    costs = [aim[0] for aim in task.aims]
    fact_costs, _ = find_supporters(task, {operator: float(cost) for operator, cost in enumerate(costs)})
    return IntegerMaster(task, CutFinder(task, fact_costs), (), Deadline(None)), task, costs


CIRCLE = build_problem("", "B,E", ["A>B", "B>A", ">A", ">E"], [1, 1, 50, 3])


def test_a_circle_is_cut_off_until_the_plan_reaches_every_goal() -> None:
    master, task, costs = build_master(CIRCLE)
    answer = master.minimise(costs, range(task.paid_count))
    assert (answer.status, sum(costs[o] for o in answer.plan), answer.lower_bound) == ("optimal", 54, 54)
    assert sorted(CIRCLE.operator_ids[task.sources[o]] for o in answer.plan) == [">A", ">E", "A>B"]
    assert master.cuts


def test_a_plan_may_cost_the_upper_bound_and_no_more() -> None:
    master, task, costs = build_master(CIRCLE)
    assert master.minimise(costs, range(task.paid_count), upper=54).status == "optimal"
    below = master.minimise(costs, range(task.paid_count), upper=53)
    assert (below.status, below.plan) == ("infeasible", [])
    assert below.lower_bound >= 53


def test_limits_of_earlier_aims_are_kept_and_an_impossible_one_is_told() -> None:
    problem = build_problem("", "A", [">A", ">A,B"], [1, 7])
    master, task, costs = build_master(problem)
    everyone = range(task.paid_count)
    first = next(o for o in everyone if costs[o] == 1)
    assert sum(costs[o] for o in master.minimise(costs, everyone, [({first: 5}, 4)]).plan) == 7
    assert master.minimise(costs, everyone, [({}, -1)]).status == "infeasible"
    assert master.minimise(costs, everyone, [({}, 0)], upper=math.inf).status == "optimal"
