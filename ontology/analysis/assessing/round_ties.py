"""Of all best assignments the one that comes first: row by row the smallest assessors by id, nobody last. Pure.

May import the problem, its model, the solver door and the deadline. Most rows are settled by the linear relaxation,
several at once: where no fraction of a whole can go to anyone who would come before, nobody can. Only where it can is
an integer program asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Final

from ontology.analysis.assessing.round_model import AIMS, Limits, RoundModel
from ontology.analysis.assessing.round_problem import Assignment, RoundProblem, RoundValue, find_broken_rule, measure
from ontology.analysis.engine.solver import Deadline, WarmLinearProgram, solve_mixed

__all__ = ["settle"]

#: A sum of whole numbers that the relaxation keeps below this is 0.
_BELOW_ONE: Final = 1 - 1e-6
#: Most rows looked at in one relaxation.
_MOST_AT_ONCE: Final = 64


def settle(problem: RoundProblem, limits: RoundValue, best: Assignment, deadline: Deadline) -> tuple[Assignment, bool]:
    """Return the first of all assignments within the limits, and whether there was time for all rows.

    Parameters
    ----------
    limits : RoundValue
        What all four aims come to.
    best : Assignment
        One that keeps every rule and the limits.
    deadline : Deadline
        After it the best so far is returned.

    Notes
    -----
    One linear program for some rows, and an integer program for each row that it leaves open: NP-hard.
    """
    return _Settling(problem, limits, best, deadline).run()


class _OutOfTime(Exception):
    """The time limit struck."""


class _Settling:
    def __init__(self, problem: RoundProblem, limits: RoundValue, best: Assignment, deadline: Deadline) -> None:
        self._problem, self._limits, self._best, self._deadline = problem, limits, best, deadline
        self._program = RoundModel(problem, Limits(**asdict(limits)), None, "rows")
        self._relaxed = WarmLinearProgram()
        self._relaxed.add_model(self._program.model)
        self._asked: list[int] = []
        self._choices = [self._program.get_choices(number) for number in range(len(problem.rows))]
        self._left = {assessor: min(limits.largest_load_minutes, m) for assessor, m in problem.capacity.items()}

    def run(self) -> tuple[Assignment, bool]:
        number, at_once = 0, 1
        try:
            while number < len(self._problem.rows):
                rows = range(number, min(number + at_once, len(self._problem.rows)))
                if self._is_refuted([self._choices[n][i] for n in rows for i in self._list_better(n)]):
                    at_once = min(2 * at_once, _MOST_AT_ONCE)
                elif len(rows) > 1:
                    at_once = len(rows) // 2
                    continue
                else:
                    self._settle_row(number)
                for settled in rows:
                    self._keep(settled)
                number = rows.stop
        except _OutOfTime:
            return self._best, False
        return self._best, True

    def _list_better(self, number: int) -> list[str]:
        """Return those who are not chosen for a row, and with any of whom it could come before."""
        row, chosen = self._problem.rows[number], self._best[number]
        last = chosen[-1] if len(chosen) == row.wanted else None
        return [i for i in self._list_open(number) if i not in chosen and (last is None or i < last)]

    def _list_open(self, number: int) -> list[str]:
        """Return who may still be chosen for a row, and has the time."""
        model, minutes = self._program.model, self._problem.rows[number].minutes
        return [i for i, column in self._choices[number].items() if model.upper[column] and self._left[i] >= minutes]

    def _settle_row(self, number: int) -> None:
        for slot in range(self._problem.rows[number].wanted):
            while True:
                chosen = self._best[number]
                if slot > len(chosen):
                    return
                low = chosen[slot - 1] if slot else ""
                high = chosen[slot] if slot < len(chosen) else None
                before = [i for i in self._list_open(number) if i > low and (high is None or i < high)]
                if not before or not self._find_better([self._choices[number][i] for i in before]):
                    break
            for i in before:
                self._bound(self._choices[number][i], 0)
            if slot < len(self._best[number]):
                self._bound(self._choices[number][self._best[number][slot]], 1)

    def _is_refuted(self, columns: Sequence[int]) -> bool:
        """Whether the relaxation shows that none of some choices can be made."""
        return not columns or self._relax(columns)[0] < _BELOW_ONE

    def _relax(self, columns: Sequence[int]) -> tuple[float, Sequence[float]]:
        """Return the most of some choices that the relaxation makes, and its solution."""
        if self._deadline.is_over():
            raise _OutOfTime
        self._relaxed.set_costs(self._asked, [0.0] * len(self._asked))
        self._relaxed.set_costs(columns, [-1.0] * len(columns))
        self._asked = list(columns)
        found = self._relaxed.solve(self._deadline.get_remaining_s())
        if found.status == "unknown":
            raise _OutOfTime
        return -found.objective, found.x.tolist()

    def _find_better(self, columns: Sequence[int]) -> bool:
        """Take a best assignment that makes one of some choices, the first of them if it can; tell whether there is."""
        most, x = self._relax(columns)
        if most < _BELOW_ONE:
            return False
        if all(abs(value - round(value)) < 1e-6 for value in x):
            read = self._program.read(x)
            if self._is_allowed(read):
                self._best = read
                return True
        costs = self._program.model.costs
        costs[:] = [0.0] * len(costs)
        for place, column in enumerate(columns):
            costs[column] = float(place - len(columns))
        start = self._program.write(self._best)
        found = solve_mixed(self._program.model, time_limit_s=self._deadline.get_remaining_s(), start=start)
        if found.objective < 0:
            self._best = self._program.read(found.x)
            return True
        if found.status != "optimal":
            raise _OutOfTime
        return False

    def _is_allowed(self, assignment: Assignment) -> bool:
        """Whether an assignment keeps every rule and the limits."""
        value = measure(self._problem, assignment)
        is_within = all(getattr(value, aim) <= getattr(self._limits, aim) for aim in AIMS)
        return is_within and not find_broken_rule(self._problem, assignment)

    def _keep(self, number: int) -> None:
        """Keep a row as it is in the best assignment."""
        chosen = self._best[number]
        for assessor, column in self._choices[number].items():
            self._bound(column, int(assessor in chosen))
        for assessor in chosen:
            self._left[assessor] -= self._problem.rows[number].minutes

    def _bound(self, column: int, value: int) -> None:
        model = self._program.model
        if (model.lower[column], model.upper[column]) != (value, value):
            model.lower[column] = model.upper[column] = float(value)
            self._relaxed.fix(column, float(value))
