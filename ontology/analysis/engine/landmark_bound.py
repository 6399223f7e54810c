"""The lower bound: a linear program over all landmarks found so far, with columns priced in from the catalogue.

May import numpy, the solver door and the other landmark files. Variables: x of an operator in play (chosen or not),
y of a fact (needed or not). Rows: y = 1 for goals; x <= y of each condition; y <= sum of x over the members of a cut.
The bound does not trust the solver: it is computed anew from the row prices over the whole catalogue, and holds for
any prices (Lagrange).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from ontology.analysis.engine.landmark_cuts import Cut, CutFinder
from ontology.analysis.engine.landmark_plans import extract_plan, find_supporters, prune_plan
from ontology.analysis.engine.landmark_rows import Row, RowArrays, Vector, pack_rows
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.solver import INFINITY, Deadline, WarmLinearProgram

__all__ = ["BoundSearch", "get_below"]

_EPSILON = 1e-6
_COLUMNS_A_ROUND = 60
_PATIENCE_ROUNDS = 8
_PATIENCE_SHARE = 0.03
"""Stop when this many rounds closed less than this share of the gap; integers then do better than more cuts."""


def get_below(value: float, step: int) -> float:
    """Return the greatest cost below a value that a plan can have, where all costs are multiples of a step.

    The value may be that of a plan with an operator that has been left out since: no multiple itself.

    Examples
    --------
    >>> get_below(120, 60), get_below(100, 60), get_below(100, 200), get_below(float("inf"), 5)
    (60, 60, 0, inf)
    """
    return value if math.isinf(value) else (math.ceil(value / step) - 1) * step


class BoundSearch:
    """Bounds the first aim of a task from below and above.

    Attributes
    ----------
    lower, upper : int or float
        No plan costs less than `lower`; `plan` costs `upper` (infinite and None before one is found).
    plan : list of int or None
        Without superfluous operators.
    cuts : dict of Cut
        All rows found, in the order in which they were found.
    """

    def __init__(self, task: ReducedTask, deadline: Deadline, upper: float, lower: int) -> None:
        self.task = task
        self.upper = upper
        self.lower = lower
        self.plan: list[int] | None = None
        self.costs = [aim[0] for aim in task.aims]
        self.step = math.gcd(*self.costs) or 1
        self.cuts: dict[Cut, None] = {}
        all_costs = {operator: float(cost) for operator, cost in enumerate(self.costs)}
        self.fact_costs, supporters = find_supporters(task, all_costs)
        self.finder = CutFinder(task, self.fact_costs)
        self.offer_plan(extract_plan(task, supporters))
        self._deadline = deadline
        self._is_out = np.zeros(task.paid_count, dtype=bool)
        self._bound = 0.0
        self._costs: Vector = np.asarray(self.costs, dtype=np.float64)
        self._prices = self._costs
        self._best_bound, self._best_prices = self._bound, self._prices
        self._goals = frozenset(task.goals)
        self._program = WarmLinearProgram(is_small=True)
        self._column_count = 0
        self._column_of: dict[int, int] = {}
        self._fact_column: dict[int, int] = {}
        self._rows_of: list[list[tuple[int, float]]] = [[] for _ in range(task.paid_count)]
        self._row_count = 0
        self._packed: list[RowArrays] = []
        self._best: dict[int, list[int]] = {}

    def offer_plan(self, plan: Iterable[int] | None) -> bool:
        """Take over `plan` if it reaches the goals, keeps the side rows and costs less; tell whether it did."""
        if plan is None:
            return False
        pruned = prune_plan(self.task, plan, self.costs)
        if pruned is None or any(
            sum(row.get(operator, 0) for operator in pruned) > bound for row, bound in self.task.side_rows
        ):
            return False
        cost = sum(self.costs[operator] for operator in pruned)
        if cost >= self.upper:
            return False
        self.plan, self.upper = pruned, cost
        return True

    def get_candidates(self, limit: float, share: float = 1.0) -> list[int]:
        """Return the operators that a plan of cost <= `limit` may hold; with a share, those well within it."""
        worth = np.maximum(self._best_prices, 0.0)
        wanted = worth <= share * (limit - self._best_bound) + _EPSILON
        return [int(operator) for operator in np.flatnonzero(wanted & ~self._is_out)]

    def _get_best(self, fact: int) -> list[int]:
        """Return the paid operators that give `fact`, the one with the least h_add first."""
        line = self._best.get(fact)
        if line is None:
            costs, fact_costs, conditions = self.costs, self.fact_costs, self.task.conditions
            priced = [
                (costs[operator] + sum([fact_costs[other] for other in conditions[operator]]), operator)
                for operator in self.task.achievers[fact]
                if operator < self.task.paid_count
            ]
            line = self._best[fact] = [operator for _, operator in sorted(priced)]
        return line

    def run(self) -> None:
        """Tighten both bounds until they meet, nothing more is found, it no longer pays, or time is up."""
        self._start()
        history: list[float] = []
        while True:
            solution = self._program.solve(self._deadline.get_remaining_s())
            if solution.status != "optimal":
                return
            self._price(solution.duals)
            x = {o: float(solution.x[c]) for o, c in self._column_of.items() if solution.x[c] > _EPSILON}
            y = {f: float(solution.x[c]) for f, c in self._fact_column.items() if solution.x[c] > _EPSILON}
            fresh = self._choose_columns()
            cuts = [cut for cut in self.finder.find_cuts(x, y) if cut not in self.cuts]
            self._add_cuts(cuts)
            self._add_operators(fresh)
            if len(history) % 2 or not cuts:
                self._round(x)
            history.append(self._bound)
            is_slow = len(history) > _PATIENCE_ROUNDS and (
                history[-1] - history[-1 - _PATIENCE_ROUNDS] < _PATIENCE_SHARE * (self.upper - self._bound)
            )
            if self.lower >= self.upper or not (cuts or fresh) or is_slow or self._deadline.is_over():
                return

    def _start(self) -> None:
        """Begin with the two best operators for each fact that they need among themselves."""
        self._add_facts(self.task.goals)
        if self.task.side_rows:
            self._add_side_rows()
        seen, stack = set(self.task.goals), list(self.task.goals)
        operators = set(self.plan or ())
        while stack:
            for operator in self._get_best(stack.pop())[:2]:
                operators.add(operator)
                for fact in self.task.conditions[operator]:
                    if fact not in seen:
                        seen.add(fact)
                        stack.append(fact)
        self._add_operators(operators)
        self._refresh_zones()

    def _refresh_zones(self) -> None:
        self.finder.set_active([o for o in self._column_of if not self._is_out[o]])

    def _round(self, x: dict[int, float]) -> None:
        """Offer the plan that h_add finds where what the linear program likes is cheap."""
        liked = {
            operator: self.costs[operator] * (1.0 - x.get(operator, 0.0)) + 1e-3
            for operator in self._column_of
            if not self._is_out[operator]
        }
        self.offer_plan(extract_plan(self.task, find_supporters(self.task, liked)[1]))

    def _price(self, duals: Vector) -> None:
        """Compute the bound and the price of every operator from the row prices; drop what is too dear."""
        rows = self._get_rows()
        # the price of a row with one open side has one sign; what the solver leaves of the other is noise
        dual = np.where(rows.upper == INFINITY, np.maximum(duals, 0.0), duals)
        dual = np.where(rows.lower == -INFINITY, np.minimum(dual, 0.0), dual)
        sides = np.where(dual > 0.0, rows.lower, np.where(dual < 0.0, rows.upper, 0.0))
        operator_count, fact_count = len(self.costs), self.task.fact_count
        shares = dual[rows.entry_row] * rows.entry_value
        prices = self._costs - np.bincount(rows.entry_operator, weights=shares, minlength=operator_count)
        is_of_fact = rows.fact >= 0
        shares = (dual * rows.fact_value)[is_of_fact]
        needs = -np.bincount(rows.fact[is_of_fact], weights=shares, minlength=fact_count)
        alive = ~self._is_out
        bound = float(np.dot(dual, sides) + np.minimum(prices[alive], 0.0).sum() + np.minimum(needs, 0.0).sum())
        if bound >= self._best_bound:
            # An early round may bound better than a late one that has just got new columns.
            self._best_bound, self._best_prices = bound, prices
        self._bound, self._prices = bound, prices
        self.lower = max(self.lower, math.ceil((bound - _EPSILON) / self.step) * self.step)
        too_dear = alive & (bound + np.maximum(prices, 0.0) > self.upper + _EPSILON)
        if too_dear.any():
            self._is_out |= too_dear
            columns = [self._column_of[int(o)] for o in np.flatnonzero(too_dear) if int(o) in self._column_of]
            self._program.set_upper(columns, 0.0)
            self._refresh_zones()

    def _choose_columns(self) -> set[int]:
        """Return operators whose price is right, with the best way to meet their conditions."""
        cheap = np.flatnonzero((self._prices < -_EPSILON) & ~self._is_out)
        waiting = sorted((int(o) for o in cheap if int(o) not in self._column_of), key=lambda o: (self._prices[o], o))
        chosen = set(waiting[:_COLUMNS_A_ROUND])
        stack = list(chosen)
        while stack:
            for fact in self.task.conditions[stack.pop()]:
                for operator in self._get_best(fact)[:1]:
                    if operator not in chosen and operator not in self._column_of:
                        chosen.add(operator)
                        stack.append(operator)
        return chosen

    def _add_rows(self, rows: list[Row]) -> None:
        if not rows:
            return
        self._packed.append(pack_rows(rows, self._row_count))
        entries = []
        rows_of, column_of = self._rows_of, self._column_of
        for number, row in enumerate(rows, self._row_count):
            line = [] if row.fact < 0 else [(self._fact_column[row.fact], row.fact_value)]
            for operator, value in zip(row.operators, row.values, strict=True):
                rows_of[operator].append((number, value))
                column = column_of.get(operator)
                if column is not None:
                    line.append((column, value))
            entries.append(line)
        self._row_count += len(rows)
        self._program.add_rows([row.lower for row in rows], [row.upper for row in rows], entries)

    def _get_rows(self) -> RowArrays:
        """Return all rows as arrays."""
        if len(self._packed) > 1:
            self._packed = [RowArrays(*(np.concatenate(parts) for parts in zip(*self._packed, strict=True)))]
        return self._packed[0]

    def _add_cuts(self, cuts: Iterable[Cut]) -> None:
        fresh = [cut for cut in cuts if cut not in self.cuts]
        self.cuts.update(dict.fromkeys(fresh))
        self._add_rows([Row(0.0, INFINITY, cut.members, (1.0,) * len(cut.members), cut.fact, -1.0) for cut in fresh])

    def _add_facts(self, facts: Iterable[int]) -> None:
        fresh = [fact for fact in facts if fact not in self._fact_column]
        for fact in fresh:
            self._fact_column[fact] = self._column_count
            self._column_count += 1
        if fresh:
            self._program.add_columns([0.0] * len(fresh), [1.0] * len(fresh), [[] for _ in fresh])
        self._add_rows([Row(1.0, 1.0, (), (), fact, 1.0) for fact in fresh if fact in self._goals])
        self._add_cuts([self.finder.build_first_cut(fact) for fact in fresh])

    def _add_operators(self, operators: Iterable[int]) -> None:
        fresh = sorted(operator for operator in operators if operator not in self._column_of)
        if not fresh:
            return
        self._add_facts(sorted({fact for operator in fresh for fact in self.task.conditions[operator]}))
        lines = [list(self._rows_of[operator]) for operator in fresh]
        for operator in fresh:
            self._column_of[operator] = self._column_count
            self._column_count += 1
        self._program.add_columns([self.costs[o] for o in fresh], [1.0] * len(fresh), lines)
        self._add_rows(
            [Row(0.0, INFINITY, (o,), (-1.0,), fact, 1.0) for o in fresh for fact in self.task.conditions[o]]
        )
        self._refresh_zones()

    def _add_side_rows(self) -> None:
        """Add the side rows, each with a dear way out, so that the linear program always has a solution."""
        rows = [
            Row(-INFINITY, float(bound), [*row], [float(value) for value in row.values()], -1, 0.0)
            for row, bound in self.task.side_rows
        ]
        first = self._row_count
        self._add_rows(rows)
        self._column_count += len(rows)
        dear = float(sum(self.costs) + 1)
        self._program.add_columns(
            [dear] * len(rows),
            [INFINITY] * len(rows),
            [[(first + number, -1.0)] for number in range(len(rows))],
        )
