"""The landmark cuts of each learner found so far, and one learner's bound for given prices of abilities. Pure.

May import numpy, the solver door, the team's problem and rows, and the cuts of single paths. A learner's bound is a
small linear program of its own: the courses cost, the markers earn what the rest of the team would pay for them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.engine.landmark_cuts import Cut, CutFinder
from ontology.analysis.engine.landmark_plans import find_supporters
from ontology.analysis.engine.solver import INFINITY, Deadline, WarmLinearProgram
from ontology.analysis.training.training_rows import Row, TeamRows

__all__ = ["CutPool", "LearnerBound", "LearnerPrices"]

_EPSILON: Final = 1e-6
_SPARE: Final = 4
"""With so many more people than a need misses the first prices are not far off."""

_ROUNDS: Final = 3
"""Rounds of cuts for one learner and one set of prices."""

Vector = NDArray[np.float64]


class CutPool:
    """The landmark cuts of each learner found so far, for every aim alike, and what finds more.

    Attributes
    ----------
    finders : list of CutFinder
    fact_costs : list of list of float
        For each learner what each level seems to cost, other levels by the way not counted.
    cuts : list of dict of Cut
    """

    def __init__(self, rows: TeamRows) -> None:
        self.rows = rows
        self.parts = rows.task.parts
        self.finders: list[CutFinder] = []
        self.fact_costs: list[list[float]] = []
        self._best: list[list[int]] = []
        for part in self.parts:
            task = part.task
            costs = {operator: float(aims[0]) for operator, aims in enumerate(task.aims)}
            fact_costs, best = find_supporters(task, costs)
            self.fact_costs.append(fact_costs)
            self._best.append(best)
            self.finders.append(CutFinder(task, fact_costs))
        self.cuts: list[dict[Cut, None]] = [{} for _ in self.parts]

    def add(self, number: int, cuts: Iterable[Cut]) -> list[Cut]:
        """Keep those cuts of a learner that are new, and return them."""
        known = self.cuts[number]
        fresh = [cut for cut in dict.fromkeys(cuts) if cut not in known]
        known.update(dict.fromkeys(fresh))
        return fresh

    def get_cheap_way(self, number: int, operator: int) -> list[int]:
        """Return an operator of a learner with those by which its conditions seem to come cheapest."""
        task, best = self.parts[number].task, self._best[number]
        way = {operator}
        stack = [operator]
        while stack:
            for fact in task.conditions[stack.pop()]:
                if best[fact] not in way:
                    way.add(best[fact])
                    stack.append(best[fact])
        return sorted(way)

    def get_first_operators(self) -> list[int]:
        """Return for each goal the markers that seem cheapest, some more than it asks for, and their ways."""
        part_of = [number for number, part in enumerate(self.parts) for _ in part.course_of]
        chosen: set[int] = set()
        for wanted, markers in self.rows.asked:
            priced = []
            for marker in markers:
                number = part_of[marker]
                conditions = self.parts[number].task.conditions[marker - self.parts[number].first]
                priced.append((sum(self.fact_costs[number][fact] for fact in conditions), marker))
            for _, marker in sorted(priced)[: wanted + _SPARE] if wanted > 0 else ():
                number = part_of[marker]
                first = self.parts[number].first
                chosen.update(first + o for o in self.get_cheap_way(number, marker - first))
        return sorted(chosen)

    def find(self, number: int, x: dict[int, float], y: dict[int, float]) -> list[Cut]:
        """Add the cuts of a learner that a solution breaks; return the new ones."""
        return self.add(number, self.finders[number].find_cuts(x, y))


@dataclass(frozen=True)
class LearnerPrices:
    """No choice of the learner costs less than `bound` (<= 0: nothing at all is a choice); an operator raises it to
    at least bound + price. `x` holds the operators of the solution.
    """

    bound: float
    prices: Vector
    x: dict[int, float]


class LearnerBound:
    """The linear program of one learner: x of every operator, y of every level that one needs.

    Parameters
    ----------
    number : int
        Which learner.
    rows : sequence of Row
        Rows of this learner alone.
    is_out : array of bool, shape (operators of the learner,)
        Those that may not be chosen.
    """

    def __init__(self, pool: CutPool, number: int, rows: Sequence[Row], is_out: NDArray[np.bool_]) -> None:
        self._pool = pool
        self._number = number
        self._part = pool.parts[number]
        self._is_out = is_out.copy()
        self._program = WarmLinearProgram()
        task = self._part.task
        self._count = task.paid_count
        self._facts = sorted({fact for conditions in task.conditions for fact in conditions})
        self._column_of = {fact: self._count + n for n, fact in enumerate(self._facts)}
        self._sides: list[tuple[float, float]] = []
        self._entries: list[tuple[int, int, float]] = []
        self._known = 0
        width = self._count + len(self._facts)
        self._program.add_columns([0.0] * width, [1.0] * width, [[]] * width)
        self._program.set_upper(np.flatnonzero(is_out).tolist(), 0.0)
        lines = [
            ([(self._column_of[fact], 1.0), (o, -1.0)], 0.0, INFINITY)
            for o, conditions in enumerate(task.conditions)
            for fact in conditions
        ]
        first = self._part.first
        lines += [([(v - first, float(value)) for v, value in row.entries], row.lower, row.upper) for row in rows]
        self._add_lines(lines)
        pool.add(number, [pool.finders[number].build_first_cut(fact) for fact in self._facts])
        self._add_cuts()

    def _add_lines(self, lines: Sequence[tuple[list[tuple[int, float]], float, float]]) -> None:
        for entries, low, high in lines:
            self._entries += [(len(self._sides), column, value) for column, value in entries]
            self._sides.append((low, high))
        self._program.add_rows([line[1] for line in lines], [line[2] for line in lines], [line[0] for line in lines])

    def _add_cuts(self) -> None:
        """Add the cuts of the pool that are not here yet."""
        cuts = list(self._pool.cuts[self._number])[self._known :]
        self._known += len(cuts)
        self._add_lines(
            [
                ([*((o, 1.0) for o in cut.members), (self._column_of[cut.fact], -1.0)], 0.0, INFINITY)
                for cut in cuts
                if cut.fact in self._column_of
            ]
        )

    def rule_out(self, operators: Sequence[int]) -> None:
        """Forbid operators."""
        self._is_out[operators] = True
        self._program.set_upper(operators, 0.0)

    def solve(self, costs: Vector, deadline: Deadline) -> LearnerPrices | None:
        """Return the bound for these costs of the operators, markers below 0; None when time was up.

        Notes
        -----
        Cuts are added while the bound is below 0 and some are broken. It is computed from the row prices (Lagrange).
        """
        self._add_cuts()
        self._program.set_costs(range(self._count), costs.tolist())
        best: LearnerPrices | None = None
        for _ in range(_ROUNDS):
            solution = self._program.solve(deadline.get_remaining_s())
            if solution.status != "optimal":
                return best
            x = {o: float(solution.x[o]) for o in range(self._count) if solution.x[o] > _EPSILON}
            found = self._get_prices(costs, solution.duals, x)
            if best is None or found.bound >= best.bound:
                best = found
            if found.bound > -_EPSILON:
                break
            y = {f: float(solution.x[c]) for f, c in self._column_of.items() if solution.x[c] > _EPSILON}
            if not self._pool.find(self._number, x, y):
                break
            self._add_cuts()
        return best

    def _get_prices(self, costs: Vector, duals: Vector, x: dict[int, float]) -> LearnerPrices:
        sides = np.array(self._sides).reshape(-1, 2)
        weights = clip_duals(duals, sides)
        used = np.where(weights > 0, sides[:, 0], np.where(weights < 0, sides[:, 1], 0.0))
        entries = np.array(self._entries)
        worth = entries[:, 2] * weights[entries[:, 0].astype(np.intp)]
        prices = np.concatenate((costs, np.zeros(len(self._facts))))
        prices -= np.bincount(entries[:, 1].astype(np.intp), weights=worth, minlength=len(prices))
        free = np.minimum(prices, 0.0)
        free[: self._count][self._is_out] = 0.0
        return LearnerPrices(min(0.0, float(weights @ used + free.sum())), prices[: self._count], x)


def clip_duals(duals: Vector, sides: Vector) -> Vector:
    """Return row prices that have a sign for which the row's side is finite; tiny ones are 0."""
    weights = np.where(np.isinf(sides[:, 1]), np.maximum(duals, 0.0), duals)
    weights = np.where(np.isinf(sides[:, 0]), np.minimum(weights, 0.0), weights)
    weights[np.abs(weights) < 1e-9] = 0.0
    return np.asarray(weights)
