"""What a reduction leaves out is never missed: an operator goes only where another does as much for no more."""

from __future__ import annotations

import pytest
from relaxed_cases import build_problem

from ontology.analysis.engine.landmark_plans import prune_plan
from ontology.analysis.engine.landmark_reduction import build_task, reduce_task


@pytest.mark.parametrize(
    ("operators", "costs", "goals", "left"),
    [
        # the dearer one to the same levels goes, one that gives more stays
        ([">A", ">A,C", ">A,B", ">B"], [1, 2, 4, 2], "A,B", {">A", ">A,B", ">B"}),
        # a cheaper one that asks more does not take the place of one that asks nothing
        (["A>B", ">A", ">B"], [1, 9, 4], "B", {"A>B", ">A", ">B"}),
        # of equal costs the first by id stays
        ([">A,D", ">A,C"], [3, 3], "A", {">A,C"}),
    ],
)
def test_only_dominated_operators_go(operators: list[str], costs: list[int], goals: str, left: set[str]) -> None:
    problem = build_problem("", goals, operators, costs)
    task = build_task(problem, problem.goals)
    reduced = reduce_task(task, range(task.paid_count))
    assert {problem.operator_ids[source] for source in reduced.sources} == left


def test_a_plan_that_reaches_no_goal_is_not_pruned_to_one() -> None:
    problem = build_problem("", "B", ["A>B", ">A", ">B"], [1, 9, 4])
    task = build_task(problem, problem.goals)
    place = {problem.operator_ids[source]: operator for operator, source in enumerate(task.sources)}
    costs = [aim[0] for aim in task.aims]
    assert prune_plan(task, [place["A>B"]], costs) is None
    assert prune_plan(task, place.values(), costs) == [place[">B"]]
