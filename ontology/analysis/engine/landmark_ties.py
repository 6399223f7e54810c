"""Among plans that are best in the first aim: later aims in order, then fewest operators, then ids.

May import the relaxed problem and the other landmark files. Every step excludes the best plan so far by one row; when
nothing is left, that plan is the only one and the rest of the steps need not be taken.
"""

from __future__ import annotations

from collections.abc import Sequence

from ontology.analysis.engine.landmark_bound import BoundSearch
from ontology.analysis.engine.landmark_master import IntegerMaster, Limit, MasterAnswer
from ontology.analysis.engine.landmark_reduction import reduce_task
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.relaxed import RelaxedProblem, remove_redundant
from ontology.analysis.engine.solver import INFINITY, Deadline

__all__ = ["TieBreaker"]

_IDS_AT_ONCE = 20
"""Weights 1, 2, 4, ... of so many operators stay far below what the solver can no longer tell apart."""


class TieBreaker:
    """Finds the one plan that all tie-breaks agree on.

    Parameters
    ----------
    task : ReducedTask
        Part of `problem` that holds the plan looked for.
    bound : BoundSearch
        The bound search of `task`, with the first aim solved.
    """

    def __init__(self, problem: RelaxedProblem, task: ReducedTask, bound: BoundSearch, deadline: Deadline) -> None:
        self._problem = problem
        self._task = reduce_task(task, bound.get_candidates(bound.upper))
        self._sources = self._task.sources[: self._task.paid_count]
        own_bound = BoundSearch(self._task, deadline, bound.upper, 0)
        own_bound.run()
        self._operators = own_bound.get_candidates(bound.upper)
        self._master = IntegerMaster(self._task, own_bound.finder, own_bound.cuts, deadline)
        self._aims = list(dict.fromkeys((*problem.aims, (1,) * len(problem.operator_ids))))

    def improve(self, plan: Sequence[int]) -> list[int]:
        """Return the best plan; after the deadline the best so far.

        Parameters
        ----------
        plan : sequence of int
            A plan of least cost in the first aim. In and out in operators of the problem, rising.
        """
        best = remove_redundant(self._problem, plan)
        limits: list[Limit] = []
        for number, aim in enumerate(self._aims):
            objective = [aim[source] for source in self._sources]
            if number:
                answer = self._ask(objective, self._operators, limits, best, sum(aim[o] for o in best))
                if answer.status != "optimal":
                    return best
                best = self._choose(best, answer.plan, objective)
            limits.append((dict(enumerate(objective)), sum(aim[operator] for operator in best)))
        return self._order_ids(best, limits)

    def _get_places(self, plan: Sequence[int]) -> list[int] | None:
        """Return the operators of the task that make up `plan`; None if some are not in play any more."""
        place = {self._sources[operator]: operator for operator in self._operators}
        return None if any(operator not in place for operator in plan) else [place[o] for o in plan]

    def _ask(
        self,
        objective: Sequence[int],
        operators: Sequence[int],
        limits: Sequence[Limit],
        best: Sequence[int],
        upper: float,
    ) -> MasterAnswer:
        """Return the best plan but `best`; that is never a part of another plan without superfluous operators."""
        places = self._get_places(best)
        others: list[Limit] = [] if places is None else [(dict.fromkeys(places, 1), len(places) - 1)]
        return self._master.minimise(objective, operators, [*limits, *others], upper=upper)

    def _choose(self, best: list[int], plan: Sequence[int], objective: Sequence[int]) -> list[int]:
        """Return the better of two plans; one that the task does not hold is worse by cost or ids."""
        places = self._get_places(best)
        if places is not None and sum(objective[o] for o in places) <= sum(objective[o] for o in plan):
            return best
        return remove_redundant(self._problem, [self._sources[operator] for operator in plan])

    def _order_ids(self, best: list[int], limits: list[Limit]) -> list[int]:
        """Return the plan with the lexicographically smallest sorted ids, some ids at a time.

        All plans left have the same number of operators, so it is the one that holds the first id if any does,
        then the second, and so on; operators of the task are sorted by id.
        """
        operators = list(self._operators)
        undecided = list(operators)
        while undecided:
            group, undecided = undecided[:_IDS_AT_ONCE], undecided[_IDS_AT_ONCE:]
            objective = [0] * self._task.paid_count
            for rank, operator in enumerate(reversed(group)):
                objective[operator] = -(1 << rank)
            places = self._get_places(best)
            upper = INFINITY if places is None else sum(objective[operator] for operator in places)
            answer = self._ask(objective, operators, limits, best, upper)
            if answer.status != "optimal":
                return best
            best = self._choose(best, answer.plan, objective)
            chosen = set(self._get_places(best) or ())
            dropped = set(group) - chosen
            operators = [operator for operator in operators if operator not in dropped]
            limits = [*limits, *(({operator: -1}, -1) for operator in group if operator in chosen)]
        return best
