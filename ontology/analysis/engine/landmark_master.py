"""The master problem in whole numbers: the best set of operators that hits every landmark found so far.

May import the solver door and the other landmark files. If the set is a plan, it is the best one; if not, it misses
some fact, and a zone around that fact gives landmarks it did not hit (Haslum, Slaney & Thiebaux 2012, ICAPS).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ontology.analysis.engine.landmark_cuts import Cut, CutFinder
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.solver import INFINITY, Deadline, LinearModel, solve_mixed

__all__ = ["IntegerMaster", "Limit", "MasterAnswer"]

Limit = tuple[Mapping[int, int], int]
"""Coefficients of operators and an upper bound: a row that the chosen operators keep."""


@dataclass(frozen=True)
class MasterAnswer:
    """Answer of the master problem.

    Attributes
    ----------
    status : str
        "optimal"; "infeasible": no plan keeps the limits; "unknown": time was up.
    plan : list of int
        Operators of the plan, rising; empty unless optimal.
    lower_bound : int or float
        No plan within the operators asked about and the limits costs less.
    """

    status: Literal["optimal", "infeasible", "unknown"]
    plan: list[int]
    lower_bound: float


class IntegerMaster:
    """Keeps the cuts of a task and minimises any objective over its plans."""

    def __init__(self, task: ReducedTask, finder: CutFinder, cuts: Iterable[Cut], deadline: Deadline) -> None:
        self._task = task
        self._finder = finder
        self._deadline = deadline
        self.cuts: dict[Cut, None] = dict.fromkeys(cuts)

    def minimise(
        self,
        objective: Sequence[int],
        operators: Sequence[int],
        limits: Sequence[Limit] = (),
        *,
        upper: float = INFINITY,
        report: Callable[[list[int], float], float] | None = None,
    ) -> MasterAnswer:
        """Return a plan of least objective, no greater than `upper`.

        Parameters
        ----------
        objective : sequence of int, length paid_count
            May be negative.
        operators : sequence of int
            The operators that may be chosen, rising.
        limits : sequence of Limit
            Besides the side rows of the task.
        upper : float
            Plans above this are of no interest.
        report : callable or None
            Called with every vector that is no plan and the bound it proves; returns the new `upper`.

        Notes
        -----
        The plan may hold operators it can do without, if they cost nothing.
        """
        self._finder.set_active(operators)
        step = math.gcd(*(objective[operator] for operator in operators)) or 1
        lower = -INFINITY
        while True:
            if self._deadline.is_over():
                return MasterAnswer("unknown", [], lower)
            model, columns = self._build_model(objective, operators, limits, step, upper)
            solution = solve_mixed(model, time_limit_s=self._deadline.get_remaining_s())
            if solution.status == "infeasible":
                return MasterAnswer("infeasible", [], max(lower, upper))
            if math.isfinite(solution.lower_bound):
                lower = max(lower, solution.lower_bound * step)
            if not solution.x:
                return MasterAnswer("unknown", [], lower)
            chosen = [operator for operator in operators if solution.x[columns[operator]] > 0.5]
            reached = self._task.get_reached(chosen)
            if not any(not reached >> goal & 1 for goal in self._task.goals):
                if solution.status == "optimal":
                    return MasterAnswer("optimal", chosen, lower)
                if report is not None:
                    report(chosen, lower)
                return MasterAnswer("unknown", [], lower)
            if report is not None:
                upper = min(upper, report(chosen, lower))
            self._add_cuts(chosen)

    def _add_cuts(self, chosen: list[int]) -> None:
        """Add landmarks that `chosen` does not hit."""
        needed = dict.fromkeys(self._task.goals, 1.0)
        for operator in chosen:
            needed.update(dict.fromkeys(self._task.conditions[operator], 1.0))
        x = dict.fromkeys(chosen, 1.0)
        cuts = self._finder.find_reach_cuts(x, needed, (0.5,), is_thorough=True)
        cuts.extend(self._finder.find_cuts(x, needed))
        self.cuts.update(dict.fromkeys(cuts))

    def _build_model(
        self,
        objective: Sequence[int],
        operators: Sequence[int],
        limits: Sequence[Limit],
        step: int,
        upper: float,
    ) -> tuple[LinearModel, dict[int, int]]:
        """Return the model and the column of each operator; the objective counts in steps."""
        task = self._task
        model = LinearModel()
        columns = {operator: model.add_variable(objective[operator] // step) for operator in operators}
        goals = set(task.goals)
        facts = sorted(goals.union(*(task.conditions[operator] for operator in operators)))
        # Whole operators make the need of a fact whole.
        needed = {fact: model.add_variable(0, lower=1 if fact in goals else 0, is_integer=False) for fact in facts}
        for operator in operators:
            for fact in task.conditions[operator]:
                if fact not in goals:
                    model.add_row([(needed[fact], 1), (columns[operator], -1)], lower=0)
        rows = dict.fromkeys(self._finder.build_first_cut(fact) for fact in facts)
        rows.update(self.cuts)
        for cut in rows:
            if cut.fact in needed:
                entries = [(columns[member], 1) for member in cut.members if member in columns]
                model.add_row([*entries, (needed[cut.fact], -1)], lower=0)
        for coefficients, bound in [*task.side_rows, *limits]:
            entries = [(columns[o], value) for o, value in coefficients.items() if o in columns and value]
            if entries or bound < 0:
                model.add_row(entries, upper=bound)
        if math.isfinite(upper):
            entries = [(columns[o], objective[o] // step) for o in operators if objective[o]]
            model.add_row(entries, upper=math.floor(upper / step))
        return model, columns
