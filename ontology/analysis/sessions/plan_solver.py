"""The plan of sessions, aim by aim, and of all best plans the one that comes first. Pure.

Each aim is solved with the earlier ones kept as whole numbers. Then the rows are gone through in order, each taking its
earliest seat that some best plan allows: a few rows at once, by weights that let no later row outweigh an earlier one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from ontology.analysis.engine.solver import (
    INFINITY,
    Deadline,
    LinearModel,
    MixedSolution,
    WarmLinearProgram,
    solve_mixed,
)
from ontology.analysis.sessions.plan_model import AIMS, PlanModel

__all__ = ["Choice", "Solved", "find_plan"]

#: Weights above this are not trusted to floating point; few enough rows are settled at once to stay below.
_LARGEST_WEIGHT: Final = 10**6
#: What a bound of the relaxation must be above a whole number by to be trusted.
_MARGIN: Final = 0.01

#: For each row the number of its seat, or None for no seat.
Choice = tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan: the seat of each row, the values of the aims, and the first aim that is not proved (None: all are).

    `lower_bound` is what no plan can have less of in that aim; `is_settled` whether it is the first of all best plans.
    """

    choice: Choice
    unproved: str | None
    lower_bound: float | None
    is_settled: bool


def find_plan(program: PlanModel, options: Sequence[int], start: Choice, time_limit_s: float | None) -> Solved:
    """Return the best plan.

    Parameters
    ----------
    options : sequence of int
        How many seats each row has.
    start : Choice
        A plan that keeps every rule: told where nothing better is found in time.

    Notes
    -----
    NP-hard (it holds the packing of sessions); an integer program for each aim that is not met by its bound, then one
    for some rows at a time.
    """
    return _Search(program, options, start, Deadline(time_limit_s)).run()


class _Search:
    def __init__(self, program: PlanModel, options: Sequence[int], start: Choice, deadline: Deadline) -> None:
        self._program, self._options, self._deadline = program, options, deadline
        self._model = program.model
        self._best = start
        self._vector: tuple[float, ...] | None = None
        self._relaxation: _Relaxation | None = None

    def run(self) -> Solved:
        for name, aim, constant in zip(AIMS, self._program.aims, self._program.constants, strict=True):
            if not aim:
                continue
            answer = self._solve(aim)
            if answer.x:
                self._take(answer)
            if answer.status != "optimal":
                bound = answer.lower_bound + constant
                return Solved(self._best, name, bound if bound > float("-inf") else None, is_settled=False)
            self._keep(aim, round(answer.objective))
        is_settled = self._settle()
        return Solved(self._best, None, None, is_settled)

    def _keep(self, aim: Mapping[int, int], value: int) -> None:
        """Let no later plan have more of an aim, and leave out the seats that no such plan can have."""
        if self._relaxation is None:
            self._relaxation = _Relaxation(self._model)
        for variable in self._relaxation.find_useless(aim, value, self._deadline):
            self._model.upper[variable] = 0.0
        self._model.add_row(aim.items(), upper=value)
        self._relaxation.add_row(aim, value)

    def _take(self, answer: MixedSolution) -> None:
        self._vector = answer.x
        chosen: list[int | None] = [None] * len(self._options)
        for (number, index), variable in self._program.seats.items():
            if answer.x[variable] > 0.5:
                chosen[number] = index
        self._best = tuple(chosen)

    def _solve(self, costs: Mapping[int, int]) -> MixedSolution:
        model: LinearModel = self._model
        model.costs[:] = [0.0] * len(model.costs)
        for variable, cost in costs.items():
            model.costs[variable] = cost
        return solve_mixed(model, time_limit_s=self._deadline.get_remaining_s(), start=self._vector)

    def _list_open(self, number: int) -> list[int]:
        """Return the seats of a row that a best plan may still have, the earliest first."""
        seats = self._program.seats
        return [i for i in range(self._options[number]) if self._model.upper[seats[number, i]] > 0]

    def _settle(self) -> bool:
        """Give each row in order its earliest seat; tell whether there was time for all."""
        number = 0
        while number < len(self._options):
            left = self._list_open(number)
            if not left or self._best[number] == left[0]:
                self._fix(number)
                number += 1
                continue
            if self._deadline.is_over():
                return False
            batch = self._choose_batch(number)
            answer = self._solve(self._weigh(batch))
            if answer.x:
                self._take(answer)
            if answer.status != "optimal":
                return False
            for settled in batch:
                self._fix(settled)
            number = batch[-1] + 1
        return True

    def _choose_batch(self, number: int) -> range:
        """Return the rows from one on that can be weighed at once."""
        weight, end = 1, number
        while end < len(self._options):
            weight *= len(self._list_open(end)) + 1
            if weight > _LARGEST_WEIGHT and end > number:
                break
            end += 1
        return range(number, end)

    def _weigh(self, batch: range) -> dict[int, int]:
        """Return costs by which an earlier seat of an earlier row is worth more than all that follows."""
        costs: dict[int, int] = {}
        weight = 1
        for number in reversed(batch):
            # no seat at all costs the most: the others are told by what they save
            left = self._list_open(number)
            for position, index in enumerate(left):
                costs[self._program.seats[number, index]] = -weight * (len(left) - position)
            weight *= len(left) + 1
        return costs

    def _fix(self, number: int) -> None:
        """Keep the seat of a row as it is in the best plan."""
        for index in range(self._options[number]):
            variable = self._program.seats[number, index]
            self._model.lower[variable] = self._model.upper[variable] = float(self._best[number] == index)


class _Relaxation:
    """The program without whole numbers: what a seat would cost at the least shows that no best plan has it."""

    def __init__(self, model: LinearModel) -> None:
        self._program = WarmLinearProgram()
        count = len(model.costs)
        self._program.add_columns([0.0] * count, model.upper, [()] * count)
        starts, columns, values = model.get_entries()
        entries = [
            list(zip(columns[a:b].tolist(), values[a:b].tolist(), strict=True)) for a, b in pairwise(starts.tolist())
        ]
        self._program.add_rows(model.row_lower, model.row_upper, entries)
        self._costly: list[int] = []

    def add_row(self, aim: Mapping[int, int], value: int) -> None:
        """Add that no plan has more of an aim."""
        self._program.add_rows([-INFINITY], [float(value)], [list(aim.items())])

    def find_useless(self, aim: Mapping[int, int], value: int, deadline: Deadline) -> list[int]:
        """Return the variables that are 0 in every whole solution with no more of an aim than its best value.

        With one of them at 1 the aim is at least the bound of the relaxation and what the variable adds to it there
        (reduced-cost fixing: Dantzig, Fulkerson & Johnson 1954, Operations Research 2).
        """
        self._program.set_costs(self._costly, [0.0] * len(self._costly))
        self._costly = list(aim)
        self._program.set_costs(self._costly, [float(cost) for cost in aim.values()])
        solution = self._program.solve(deadline.get_remaining_s())
        if solution.status != "optimal":
            return []
        most = value - solution.objective + _MARGIN
        useless = np.flatnonzero(solution.reduced_costs > most).tolist()
        self._program.set_upper(useless, 0.0)
        return useless
