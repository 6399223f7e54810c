"""The one door to HiGHS: linear and mixed-integer programs in, checked answers out.

May import highspy, numpy, the linear model and the errors. A solver works in floating point, and solvers have
returned vectors that break their own bounds; therefore every integer solution is rounded, re-checked against all rows
and bounds (exactly, where the data are integers) and its objective recomputed here before anyone else sees it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import highspy
import numpy as np

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.linear_model import (
    INFINITY,
    LinearModel,
    LinearSolution,
    MixedSolution,
    find_violation,
    flatten,
    is_whole,
)
from ontology.errors import SolverError

__all__ = [
    "INFINITY",
    "Deadline",
    "LinearModel",
    "LinearSolution",
    "MixedSolution",
    "SolverError",
    "WarmLinearProgram",
    "solve_mixed",
]


_ANSWERS = (
    highspy.HighsModelStatus.kOptimal,
    highspy.HighsModelStatus.kInfeasible,
    highspy.HighsModelStatus.kTimeLimit,
)


_PRESOLVE_RULES_OFF = 1 << 12 | 1 << 16
"""Probing, and dual fixing while it probes: with them HiGHS 1.16.0 was seen to call a model infeasible that has
solutions, and every proof of ours rests on that word. Without them it takes as long, and agrees with another solver
(tests/reference/test_training_reference.py)."""


class _QuietHighs(highspy.Highs):
    """HiGHS without callbacks: we use none, and registering them prints a banner to standard output."""

    def enableCallbacks(self) -> None:
        """Do nothing."""


def _open_solver(time_limit_s: float | None) -> highspy.Highs:
    """Return a quiet, single-threaded, seeded solver that stops only at the exact optimum."""
    solver = _QuietHighs()  # type: ignore[no-untyped-call]
    settings: dict[str, bool | int | float] = {
        "output_flag": False,
        "threads": 1,
        "random_seed": 1,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 0.0,
        "presolve_rule_off": _PRESOLVE_RULES_OFF,
    }
    if time_limit_s is not None:
        settings["time_limit"] = float(time_limit_s)
    for name, value in settings.items():
        solver.setOptionValue(name, value)
    return solver


def _pass_model(solver: highspy.Highs, model: LinearModel, *, is_relaxed: bool = False) -> None:
    starts, columns, values = model.get_entries()
    empty_int, empty_float = np.zeros(0, dtype=np.int32), np.zeros(0)
    count = len(model.costs)
    solver.addCols(
        count,
        np.asarray(model.costs, dtype=np.float64),
        np.asarray(model.lower, dtype=np.float64),
        np.asarray(model.upper, dtype=np.float64),
        0,
        np.zeros(count, dtype=np.int32),
        empty_int,
        empty_float,
    )
    if model.row_lower:
        solver.addRows(
            len(model.row_lower),
            np.asarray(model.row_lower, dtype=np.float64),
            np.asarray(model.row_upper, dtype=np.float64),
            len(columns),
            starts[:-1],
            columns,
            values,
        )
    integers = np.flatnonzero(model.is_integer).astype(np.int32)
    if integers.size and not is_relaxed:
        solver.changeColsIntegrality(len(integers), integers, np.ones(len(integers), dtype=np.uint8))


def solve_mixed(
    model: LinearModel, *, time_limit_s: float | None = None, start: Sequence[float] | None = None
) -> MixedSolution:
    """Solve a mixed-integer program to proven optimality or until the time limit.

    Parameters
    ----------
    model : LinearModel
        n variables, m rows; not changed.
    time_limit_s : float or None
        Seconds; None means no limit.
    start : sequence of float, length n, or None
        A solution to start from; ignored by the solver if it breaks a row.

    Returns
    -------
    MixedSolution
        Checked against `model`.

    Raises
    ------
    SolverError
        The solver failed or twice returned a vector that breaks `model` after rounding, or `model` has no
        finite optimum.

    Notes
    -----
    Branch and cut of HiGHS, one thread, fixed seed, gaps 0: the same model gives the same answer.

    Examples
    --------
    >>> model = LinearModel()
    >>> first, second = model.add_variable(3), model.add_variable(2)
    >>> model.add_row([(first, 1), (second, 1)], lower=1)
    0
    >>> solve_mixed(model)
    MixedSolution(status='optimal', x=(0.0, 1.0), objective=2.0, lower_bound=2.0)
    """
    deadline = Deadline(time_limit_s)
    if not model.costs:
        feasible = all(low <= 0 <= high for low, high in zip(model.row_lower, model.row_upper, strict=True))
        value = 0.0 if feasible else INFINITY
        return MixedSolution("optimal" if feasible else "infeasible", (), value, value)
    complaint = ""
    for is_strict in (False, True):
        solver = _open_solver(deadline.get_remaining_s())
        if is_strict:
            # A second try with tight tolerances repairs big coefficients that eat the default ones.
            solver.setOptionValue("mip_feasibility_tolerance", 1e-9)
            solver.setOptionValue("primal_feasibility_tolerance", 1e-9)
            solver.setOptionValue("presolve", "off")
        _pass_model(solver, model)
        if start is not None and not is_strict:
            solver.setSolution(len(start), np.arange(len(start), dtype=np.int32), np.asarray(start, dtype=np.float64))
        solver.run()
        outcome = solver.getModelStatus()
        if outcome == highspy.HighsModelStatus.kInfeasible:
            return MixedSolution("infeasible", (), INFINITY, INFINITY)
        is_solved = outcome == highspy.HighsModelStatus.kOptimal
        if not is_solved and outcome != highspy.HighsModelStatus.kTimeLimit:
            # seen with presolve on: "Solve error" where the second, stricter try finds the optimum
            complaint = f"the solver stopped with {solver.modelStatusToString(outcome)}"
            continue
        is_mixed = any(model.is_integer)
        bound = solver.getInfo().mip_dual_bound if is_mixed else solver.getInfo().objective_function_value
        if not is_solved and not is_mixed:
            bound = -INFINITY
        whole = is_whole(model.costs) and all(
            integer for cost, integer in zip(model.costs, model.is_integer, strict=True) if cost
        )
        if whole and math.isfinite(bound):
            bound = float(math.ceil(bound - 1e-6 * max(1.0, abs(bound))))
        x = np.array(solver.getSolution().col_value, dtype=np.float64)
        has_vector = x.size == len(model.costs) and (is_solved or math.isfinite(_get_primal_value(solver)))
        if not has_vector:
            return MixedSolution("unknown", (), INFINITY, bound)
        integers = np.flatnonzero(model.is_integer)
        x[integers] = np.round(x[integers]) + 0.0
        complaint = find_violation(model, x)
        if not complaint:
            objective = float(np.dot(np.asarray(model.costs, dtype=np.float64), x))
            told = float(solver.getInfo().objective_function_value)
            if is_solved and not is_strict and objective > told + 1e-6 * max(1.0, abs(told)):
                # seen: the start comes back instead of the better solution whose objective is told
                complaint = f"the solver tells {told:g} of a solution that costs {objective:g}"
                continue
            # The objective of a checked solution is an upper bound, whatever the solver's own bound says.
            bound = min(bound, objective)
            is_proved = is_solved and (not whole or bound == objective)
            return MixedSolution("optimal" if is_proved else "feasible", tuple(x.tolist()), objective, bound)
    raise SolverError(f"the solver gave no answer that fits the model: {complaint}")


def _get_primal_value(solver: highspy.Highs) -> float:
    """Return the objective of the best solution found, infinite when there is none."""
    info = solver.getInfo()
    has_solution = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    return float(info.objective_function_value) if has_solution else INFINITY


class WarmLinearProgram:
    """A linear program that grows by rows and columns and is solved again from its last basis.

    Parameters
    ----------
    is_small : bool
        Devex edge weights instead of exact ones: some steps more, each of them cheaper, which pays in programs of
        some hundred rows.
    """

    def __init__(self, *, is_small: bool = False) -> None:
        self._solver = _open_solver(None)
        self._solver.setOptionValue("presolve", "off")
        if is_small:
            self._solver.setOptionValue("simplex_dual_edge_weight_strategy", 1)

    def add_model(self, model: LinearModel) -> None:
        """Add the variables and rows of a program whose integers need not be whole; before anything else is added."""
        _pass_model(self._solver, model, is_relaxed=True)

    def add_columns(
        self,
        costs: Sequence[float],
        upper: Sequence[float],
        entries: Sequence[Sequence[tuple[int, float]]],
    ) -> None:
        """Add variables 0 <= x <= upper; `entries[j]` holds the (row, value) pairs of column j."""
        starts, rows, values = flatten(entries)
        self._solver.addCols(
            len(costs),
            np.asarray(costs, dtype=np.float64),
            np.zeros(len(costs)),
            np.asarray(upper, dtype=np.float64),
            len(rows),
            starts,
            rows,
            values,
        )

    def add_rows(
        self,
        lower: Sequence[float],
        upper: Sequence[float],
        entries: Sequence[Sequence[tuple[int, float]]],
    ) -> None:
        """Add rows lower <= A x <= upper; `entries[i]` holds the (column, value) pairs of row i."""
        if not lower:
            return
        starts, columns, values = flatten(entries)
        self._solver.addRows(
            len(lower),
            np.asarray(lower, dtype=np.float64),
            np.asarray(upper, dtype=np.float64),
            len(columns),
            starts,
            columns,
            values,
        )

    def set_upper(self, columns: Sequence[int], upper: float) -> None:
        """Give all of `columns` the bounds 0 <= x <= upper."""
        if columns:
            count = len(columns)
            self._solver.changeColsBounds(
                count, np.asarray(columns, dtype=np.int32), np.zeros(count), np.full(count, float(upper))
            )

    def fix(self, column: int, value: float) -> None:
        """Give a variable this value for good."""
        self._solver.changeColBounds(column, value, value)

    def set_costs(self, columns: Sequence[int], costs: Sequence[float]) -> None:
        """Give `columns` other costs."""
        if columns:
            self._solver.changeColsCost(
                len(columns), np.asarray(columns, dtype=np.int32), np.asarray(costs, dtype=np.float64)
            )

    def solve(self, time_limit_s: float | None = None) -> LinearSolution:
        """Solve from the last basis.

        Raises
        ------
        SolverError
            The solver failed.
        """
        if time_limit_s is not None:
            # HiGHS counts the time of all runs of one instance together.
            self._solver.setOptionValue("time_limit", self._solver.getRunTime() + time_limit_s)
        self._solver.run()
        outcome = self._solver.getModelStatus()
        if outcome not in _ANSWERS:
            # A basis that has gone numerically bad; once more from nothing.
            self._solver.clearSolver()
            self._solver.run()
            outcome = self._solver.getModelStatus()
        empty = np.zeros(0)
        if outcome == highspy.HighsModelStatus.kInfeasible:
            return LinearSolution("infeasible", empty, empty, empty, INFINITY)
        if outcome == highspy.HighsModelStatus.kTimeLimit:
            return LinearSolution("unknown", empty, empty, empty, -INFINITY)
        if outcome != highspy.HighsModelStatus.kOptimal:
            raise SolverError(f"the solver stopped with {self._solver.modelStatusToString(outcome)}")
        solution = self._solver.getSolution()
        return LinearSolution(
            "optimal",
            np.array(solution.col_value, dtype=np.float64),
            np.array(solution.row_dual, dtype=np.float64),
            np.array(solution.col_dual, dtype=np.float64),
            float(self._solver.getInfo().objective_function_value),
        )
