"""A lower bound for a team's plan: a linear program over landmarks of people and courses, learner by learner. Pure.

May import numpy, the solver door, the team's rows and the pool of cuts. The program of the team holds only operators
in play: x of an operator, y of a level that a learner needs, and those of the team's rows. Its row prices say what the
team would pay for each ability; each learner's own program then tells the least cost at these prices, and brings the
operators that pay (Dantzig & Wolfe 1960, Operations Research 8). The sum bounds every plan from below, for any prices.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np

from ontology.analysis.engine.landmark_cuts import Cut
from ontology.analysis.engine.solver import INFINITY, Deadline, WarmLinearProgram
from ontology.analysis.training.training_pool import CutPool, LearnerBound, Vector, clip_duals
from ontology.analysis.training.training_rows import Row

__all__ = ["TeamBound"]

_EPSILON: Final = 1e-6
_PATIENCE_ROUNDS: Final = 12
_PATIENCE_SHARE: Final = 0.02
"""Stop when so many rounds closed less than this share of the gap; whole numbers then do better than more cuts."""

_WORTH_SHARE: Final = 0.6
"""The linear program is built again when at most this share of its operators is left."""


class TeamBound:
    """Bounds one aim from below, and tells which operators can still matter.

    Parameters
    ----------
    costs : sequence of int
        Of every variable, operators first.
    caps : sequence of Row
        Rows that keep earlier aims.
    upper : int
        What a known plan costs.
    allowed : sequence of int
        The operators that may be chosen.

    Attributes
    ----------
    lower : int
        No plan within the rows and caps costs less.
    x : dict of operator to value
        The last solution of the linear program.
    has_shrunk : bool
        So many operators are ruled out that it pays to begin again with the rest.
    """

    def __init__(
        self,
        pool: CutPool,
        costs: Sequence[int],
        caps: Sequence[Row],
        upper: int,
        deadline: Deadline,
        allowed: Sequence[int],
    ) -> None:
        self.pool = pool
        self.task = pool.rows.task
        self.upper = upper
        self.lower = 0
        self.step = math.gcd(*costs) or 1
        self.x: dict[int, float] = {}
        self.has_shrunk = False
        self._deadline = deadline
        self._count = self.task.operator_count
        self._own_costs = np.asarray(costs, dtype=np.float64)
        self._costs: list[float] = self._own_costs.tolist()
        self._uppers: list[float] = [1.0] * self._count + [float(u) for u in pool.rows.uppers.values()]
        self._is_out = np.ones(self._count, dtype=bool)
        self._is_out[list(allowed)] = False
        self._best_bound = -INFINITY
        self._best_prices: Vector = np.zeros(self._count)
        self._program = WarmLinearProgram()
        self._column_of: dict[int, int] = {}
        self._fact_variable: dict[tuple[int, int], int] = {}
        self._shared: list[tuple[int, Row]] = []
        self._rows_of: dict[int, list[tuple[int, float]]] = {}
        self._row_count = 0
        self._part_of = [number for number, part in enumerate(self.task.parts) for _ in part.task.sources]
        self._open(list(pool.rows.uppers))
        rows = [*pool.rows.rows, *caps]
        self._add_rows(rows)
        self._shared = [(number, row) for number, row in enumerate(rows) if row.part is None]
        self._own_rows: dict[int, list[Row]] = {}
        for row in rows:
            if row.part is not None:
                self._own_rows.setdefault(row.part, []).append(row)
        self._learners: dict[int, LearnerBound] = {}

    # -- variables and rows ------------------------------------------------------------------------------------

    def _open(self, variables: Sequence[int]) -> None:
        """Give variables a column, with the rows known so far."""
        if not variables:
            return
        for variable in variables:
            self._column_of[variable] = len(self._column_of)
        self._program.add_columns(
            [self._costs[v] for v in variables],
            [self._uppers[v] for v in variables],
            [self._rows_of.get(v, []) for v in variables],
        )

    def _add_rows(self, rows: Sequence[Row]) -> None:
        lines = []
        for row in rows:
            for variable, value in row.entries:
                self._rows_of.setdefault(variable, []).append((self._row_count, float(value)))
            self._row_count += 1
            lines.append([(self._column_of[v], float(value)) for v, value in row.entries if v in self._column_of])
        self._program.add_rows([row.lower for row in rows], [row.upper for row in rows], lines)

    def _add_facts(self, number: int, facts: Iterable[int]) -> None:
        """Give a learner's levels a variable where they have none, with the cuts known of them."""
        fresh = sorted({fact for fact in facts if (number, fact) not in self._fact_variable})
        for fact in fresh:
            variable = len(self._costs)
            self._fact_variable[number, fact] = variable
            self._costs.append(0.0)
            self._uppers.append(1.0)
            self._open([variable])
        wanted = set(fresh)
        self._add_cuts(number, [cut for cut in self.pool.cuts[number] if cut.fact in wanted])

    def _add_cuts(self, number: int, cuts: Iterable[Cut]) -> None:
        first = self.task.parts[number].first
        self._add_rows(
            [
                Row((*((first + o, 1) for o in cut.members), (self._fact_variable[number, cut.fact], -1)), lower=0)
                for cut in cuts
                if (number, cut.fact) in self._fact_variable
            ]
        )

    def _add_operators(self, operators: Iterable[int]) -> None:
        fresh = sorted({o for o in operators if o not in self._column_of and not self._is_out[o]})
        if not fresh:
            return
        rows = []
        for operator in fresh:
            number = self._part_of[operator]
            part = self.task.parts[number]
            conditions = part.task.conditions[operator - part.first]
            self._add_facts(number, conditions)
            rows += [Row(((self._fact_variable[number, fact], 1), (operator, -1)), lower=0) for fact in conditions]
        self._open(fresh)
        self._add_rows(rows)

    # -- the search --------------------------------------------------------------------------------------------

    def run(self, get_plan: Callable[[], Iterable[int]], look: Callable[[dict[int, float]], int]) -> None:
        """Tighten the bound until it meets `upper`, nothing more is found, it no longer pays, or time is up.

        Parameters
        ----------
        get_plan : callable
            Returns the operators of the best plan known, which is within the rows and caps.
        look : callable
            Called with every solution; returns what the best plan known costs then.
        """
        self._add_operators([*get_plan(), *self.pool.get_first_operators()])
        history: list[float] = []
        alive = int((~self._is_out).sum())
        while not self._deadline.is_over():
            solution = self._program.solve(self._deadline.get_remaining_s())
            if solution.status != "optimal":
                return
            values = {v: float(solution.x[c]) for v, c in self._column_of.items() if solution.x[c] > _EPSILON}
            self.x = {v: value for v, value in values.items() if v < self._count}
            known = [len(cuts) for cuts in self.pool.cuts]
            self._find_cuts(values)
            is_better = self._look(look)
            fresh = self._price(solution.duals)
            if fresh is None:
                return
            found = [(number, list(self.pool.cuts[number])[count:]) for number, count in enumerate(known)]
            for number, cuts in found:
                self._add_cuts(number, cuts)
            self._rule_out()
            self._add_operators([*fresh, *(get_plan() if is_better else ())])
            history.append(self._best_bound)
            is_slow = len(history) > _PATIENCE_ROUNDS and (
                history[-1] - history[-1 - _PATIENCE_ROUNDS] < _PATIENCE_SHARE * (self.upper - self._best_bound)
            )
            self.has_shrunk = self.lower < self.upper and int((~self._is_out).sum()) <= _WORTH_SHARE * alive
            if self.lower >= self.upper or not (fresh or any(cuts for _, cuts in found)) or is_slow or self.has_shrunk:
                return

    def _look(self, look: Callable[[dict[int, float]], int]) -> bool:
        upper = look(self.x)
        is_better = upper < self.upper
        self.upper = min(self.upper, upper)
        return is_better

    def _find_cuts(self, values: dict[int, float]) -> None:
        """Find the landmark cuts that a solution breaks."""
        x: dict[int, dict[int, float]] = {}
        y: dict[int, dict[int, float]] = {}
        for operator, value in self.x.items():
            number = self._part_of[operator]
            x.setdefault(number, {})[operator - self.task.parts[number].first] = value
        for (number, fact), variable in self._fact_variable.items():
            value = values.get(variable, 0.0)
            if value > _EPSILON:
                y.setdefault(number, {})[fact] = value
        for number in sorted(y):
            self.pool.find(number, x.get(number, {}), y[number])

    def _price(self, duals: Vector) -> set[int] | None:
        """Bound all plans at the prices of the shared rows; return operators that pay and are not in play.

        None when time was up.
        """
        costs = self._own_costs.copy()
        bound = 0.0
        if self._shared:
            sides = np.array([(row.lower, row.upper) for _, row in self._shared])
            weights = clip_duals(duals[[number for number, _ in self._shared]], sides)
            for weight, (_, row) in zip(weights.tolist(), self._shared, strict=True):
                if weight:
                    bound += weight * (row.lower if weight > 0 else row.upper)
                    variables = np.array([v for v, _ in row.entries], dtype=np.intp)
                    costs[variables] -= weight * np.array([float(value) for _, value in row.entries])
        others = costs[self._count :]
        bound += float(np.minimum(others, 0.0) @ np.array(self._uppers[self._count : len(costs)]))
        prices = np.zeros(self._count)
        fresh: set[int] = set()
        for number, part in enumerate(self.task.parts):
            if self._deadline.is_over():
                return None
            if number not in self._learners:
                own = self._own_rows.get(number, [])
                self._learners[number] = LearnerBound(self.pool, number, own, self._is_out[part.span])
            found = self._learners[number].solve(costs[part.span], self._deadline)
            if found is None:
                return None
            bound += found.bound
            prices[part.span] = found.prices
            if found.bound < -_EPSILON:
                fresh.update(part.first + o for o in found.x if part.first + o not in self._column_of)
        if bound >= self._best_bound:
            self._best_bound, self._best_prices = bound, prices
        slack = _EPSILON * max(1.0, abs(bound))
        self.lower = min(self.upper, max(self.lower, math.ceil((bound - slack) / self.step) * self.step))
        return fresh

    def _rule_out(self) -> None:
        """Forbid what no plan of cost `upper` can hold."""
        worth = self._best_bound + np.maximum(self._best_prices, 0.0)
        dear = (worth > self.upper + _EPSILON * max(1.0, self.upper)) & ~self._is_out
        if not dear.any():
            return
        self._is_out |= dear
        self._program.set_upper(
            [self._column_of[o] for o in np.flatnonzero(dear).tolist() if o in self._column_of], 0.0
        )
        for number, learner in self._learners.items():
            operators = np.flatnonzero(dear[self.task.parts[number].span]).tolist()
            if operators:
                learner.rule_out(operators)

    def get_candidates(self, limit: float) -> list[int]:
        """Return the operators that a plan of cost <= `limit` may hold."""
        if not math.isfinite(self._best_bound):
            return [int(o) for o in np.flatnonzero(~self._is_out)]
        worth = np.maximum(self._best_prices, 0.0)
        wanted = worth <= limit - self._best_bound + _EPSILON * max(1.0, limit)
        return [int(o) for o in np.flatnonzero(wanted & ~self._is_out)]
