"""The plan of sessions, aim by aim, and of all best plans the one that comes first. Pure.

Each aim is solved with the earlier ones kept as whole numbers. Then the rows are gone through in order, each taking its
earliest seat that some best plan allows: a few rows at once, by weights that let no later row outweigh an earlier one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from ontology.analysis.engine.solver import Deadline, LinearModel, MixedSolution, solve_mixed
from ontology.analysis.sessions.plan_model import AIMS, PlanModel

__all__ = ["Choice", "Solved", "find_plan"]

#: Weights above this are not trusted to floating point; few enough rows are settled at once to stay below.
_LARGEST_WEIGHT: Final = 10**6

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
    program : PlanModel
    options : sequence of int
        How many seats each row has.
    start : Choice
        A plan that keeps every rule: told where nothing better is found in time.
    time_limit_s : float or None

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
            value = round(answer.objective)
            self._model.add_row([(variable, weight) for variable, weight in aim.items()], upper=value)
        is_settled = self._settle()
        return Solved(self._best, None, None, is_settled)

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

    def _settle(self) -> bool:
        """Give each row in order its earliest seat; tell whether there was time for all."""
        number = 0
        while number < len(self._options):
            if self._best[number] == 0 or not self._options[number]:
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
        while end < len(self._options) and weight * (self._options[end] + 1) <= _LARGEST_WEIGHT:
            weight *= self._options[end] + 1
            end += 1
        return range(number, max(end, number + 1))

    def _weigh(self, batch: range) -> dict[int, int]:
        """Return costs by which an earlier seat of an earlier row is worth more than all that follows."""
        costs: dict[int, int] = {}
        weight = 1
        for number in reversed(batch):
            # the last seat costs nothing: no seat at all is what costs the most, told by what the others save
            count = self._options[number]
            for index in range(count):
                costs[self._program.seats[number, index]] = -weight * (count - index)
            weight *= count + 1
        return costs

    def _fix(self, number: int) -> None:
        """Keep the seat of a row as it is in the best plan."""
        for index in range(self._options[number]):
            variable = self._program.seats[number, index]
            self._model.lower[variable] = self._model.upper[variable] = float(self._best[number] == index)
