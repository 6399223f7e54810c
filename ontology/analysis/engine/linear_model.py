"""Linear and mixed-integer programs and their answers as plain data, and the check of a vector against a program.

May import numpy only: what a model means, and whether a vector keeps it, is said without any solver.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["INFINITY", "LinearModel", "LinearSolution", "MixedSolution", "find_violation", "flatten", "is_whole"]

INFINITY = math.inf
FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int32]

_EXACT_LIMIT = 2.0**53
"""Sums of integers below this are exact in double precision."""


@dataclass
class LinearModel:
    """Minimise cost x subject to lower <= A x <= upper and variable bounds; built row by row.

    Attributes
    ----------
    costs, lower, upper : list of float, length n
        Objective and bounds of each variable.
    is_integer : list of bool, length n
        Whether the variable must be integer.
    row_lower, row_upper : list of float, length m
        Bounds of each row; infinite where one-sided.
    """

    costs: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    is_integer: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    _starts: list[int] = field(default_factory=lambda: [0])
    _columns: list[int] = field(default_factory=list)
    _values: list[float] = field(default_factory=list)

    def add_variable(self, cost: float, *, lower: float = 0, upper: float = 1, is_integer: bool = True) -> int:
        """Add a variable (binary unless said otherwise) and return its index."""
        self.costs.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        self.is_integer.append(is_integer)
        return len(self.costs) - 1

    def add_row(
        self, entries: Iterable[tuple[int, float]], *, lower: float = -INFINITY, upper: float = INFINITY
    ) -> int:
        """Add the row lower <= sum(value * x[column]) <= upper and return its index.

        `entries` holds (column, value) pairs, each column at most once.
        """
        for column, value in entries:
            self._columns.append(column)
            self._values.append(value)
        self._starts.append(len(self._columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)
        return len(self.row_lower) - 1

    def get_entries(self) -> tuple[IntArray, IntArray, FloatArray]:
        """Return the rows in compressed form: starts (m + 1,), columns and values (k,)."""
        return (
            np.asarray(self._starts, dtype=np.int32),
            np.asarray(self._columns, dtype=np.int32),
            np.asarray(self._values, dtype=np.float64),
        )


@dataclass(frozen=True)
class MixedSolution:
    """Answer of a mixed-integer program.

    Attributes
    ----------
    status : str
        "optimal"; "feasible" (time limit, best so far); "infeasible"; "unknown" (time limit, nothing found).
    x : tuple of float
        One value for each variable (integer ones are whole), empty without a solution.
    objective : float
        cost x, recomputed from `x` (exact for integers below 2**53); infinite without a solution.
    lower_bound : float
        No solution costs less; rounded up to a whole number where the objective must be one.
    """

    status: Literal["optimal", "feasible", "infeasible", "unknown"]
    x: tuple[float, ...]
    objective: float
    lower_bound: float


@dataclass(frozen=True)
class LinearSolution:
    """Answer of a linear program.

    Attributes
    ----------
    status : str
        "optimal", "infeasible" or "unknown" (time limit).
    x, reduced_costs : FloatArray, shape (n,)
    duals : FloatArray, shape (m,)
        Row prices: what the optimum gains for one more unit of the row's binding bound.
    objective : float
    """

    status: Literal["optimal", "infeasible", "unknown"]
    x: FloatArray
    duals: FloatArray
    reduced_costs: FloatArray
    objective: float


def is_whole(values: Sequence[float]) -> bool:
    """Tell whether all finite values are integers."""
    return all(float(value).is_integer() for value in values if math.isfinite(value))


def find_violation(model: LinearModel, x: FloatArray) -> str:
    """Return what `x` (n,) breaks, in words; empty when it keeps every row and bound.

    A row is checked exactly where its data are integers and its sum stays below 2**53; otherwise to 1e-6, relative to
    the row.
    """
    starts, columns, values = model.get_entries()
    products = values * x[columns]
    row_ids = np.repeat(np.arange(len(model.row_lower)), np.diff(starts))
    activity = np.bincount(row_ids, weights=products, minlength=len(model.row_lower))
    magnitude = np.bincount(row_ids, weights=np.abs(products), minlength=len(model.row_lower))
    row_lower = np.asarray(model.row_lower, dtype=np.float64)
    row_upper = np.asarray(model.row_upper, dtype=np.float64)
    is_integer = np.asarray(model.is_integer, dtype=bool)
    is_loose = ~is_integer[columns] | (values != np.round(values))
    loose_count = np.bincount(row_ids, weights=is_loose, minlength=len(model.row_lower))
    is_exact = (loose_count == 0) & (magnitude < _EXACT_LIMIT)
    slack = np.where(is_exact, 0.0, 1e-6 * np.maximum(1.0, magnitude))
    broken = np.flatnonzero((activity < row_lower - slack) | (activity > row_upper + slack))
    if broken.size:
        row = int(broken[0])
        return f"row {row}: {row_lower[row]} <= {activity[row]} <= {row_upper[row]} does not hold"
    bound_slack = np.where(is_integer, 0.0, 1e-6)
    outside = np.flatnonzero((x < np.asarray(model.lower) - bound_slack) | (x > np.asarray(model.upper) + bound_slack))
    return f"variable {int(outside[0])} = {x[outside[0]]} is out of its bounds" if outside.size else ""


def flatten(entries: Sequence[Sequence[tuple[int, float]]]) -> tuple[IntArray, IntArray, FloatArray]:
    """Return lines of (index, value) pairs in compressed form: where each begins, indices and values."""
    lengths = [len(line) for line in entries]
    starts = np.concatenate(([0], np.cumsum(lengths)[:-1])) if lengths else np.zeros(0)
    indices = [index for line in entries for index, _ in line]
    values = [value for line in entries for _, value in line]
    return starts.astype(np.int32), np.asarray(indices, dtype=np.int32), np.asarray(values, dtype=np.float64)
