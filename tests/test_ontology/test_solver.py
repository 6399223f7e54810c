"""Answers of the solver door are checked, exact where they can be, and bounded."""

from __future__ import annotations

import itertools
import math
import time

import numpy as np
import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.engine.linear_model import find_violation
from ontology.analysis.engine.solver import INFINITY, Deadline, LinearModel, WarmLinearProgram, solve_mixed
from ontology.errors import SolverError


def build_model(costs: list[int], rows: list[tuple[list[int], int]]) -> LinearModel:
    """Return min costs x, row x >= bound, x binary."""
    model = LinearModel()
    for cost in costs:
        model.add_variable(cost)
    for row, bound in rows:
        model.add_row(enumerate(row), lower=bound)
    return model


@settings(max_examples=draws(150), deadline=None)
@given(st.data())
def test_binary_program_agrees_with_trying_every_vector(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 6))
    number = st.integers(-5, 5)
    line = st.lists(number, min_size=count, max_size=count)
    costs = data.draw(line)
    rows = data.draw(st.lists(st.tuples(line, number), max_size=4))
    values = [
        sum(c * x for c, x in zip(costs, vector, strict=True))
        for vector in itertools.product((0, 1), repeat=count)
        if all(sum(a * x for a, x in zip(row, vector, strict=True)) >= bound for row, bound in rows)
    ]
    answer = solve_mixed(build_model(costs, rows))
    if not values:
        assert answer.status == "infeasible"
        assert answer.lower_bound == INFINITY
        return
    assert answer.status == "optimal"
    assert answer.objective == min(values) == answer.lower_bound
    assert sum(c * x for c, x in zip(costs, answer.x, strict=True)) == answer.objective
    assert set(answer.x) <= {0.0, 1.0}


def test_lower_bound_of_a_whole_objective_is_rounded_up() -> None:
    # Half of each of three would do for 1.5; whole ones cost 2.
    rows = [([1, 1, 0], 1), ([1, 0, 1], 1), ([0, 1, 1], 1)]
    answer = solve_mixed(build_model([1, 1, 1], rows))
    assert (answer.objective, answer.lower_bound) == (2, 2)


def test_continuous_variables_mix_with_whole_ones() -> None:
    model = LinearModel()
    whole = model.add_variable(3, upper=10)
    part = model.add_variable(1, upper=0.5, is_integer=False)
    model.add_row([(whole, 2), (part, 2)], lower=4)
    answer = solve_mixed(model)
    assert answer.x == pytest.approx((2, 0))
    assert answer.objective == pytest.approx(6)


def test_model_without_variables_is_answered() -> None:
    assert solve_mixed(LinearModel()).status == "optimal"


def test_violation_names_the_row_that_is_broken_by_one() -> None:
    model = build_model([1, 1], [([1, 1], 1), ([10**9, 1], 10**9)])
    assert find_violation(model, np.array([1.0, 0.0])) == ""
    # Relative to 10**9, one is nothing: only an exact check sees it.
    model.add_row([(0, 10**9), (1, 1)], upper=10**9)
    assert "row 2" in find_violation(model, np.array([1.0, 1.0]))
    assert "variable 0" in find_violation(LinearModel([1.0], [0.0], [1.0], [True]), np.array([2.0]))


def test_time_limit_gives_a_bound_and_no_wrong_claim() -> None:
    # A market split problem (Cornuejols & Dawande 1999): hopeless for branch and bound at this size.
    rng = np.random.default_rng(1)
    weights = rng.integers(0, 100, size=(5, 40))
    model = LinearModel()
    for _ in range(40):
        model.add_variable(0)
    for row in weights:
        over = model.add_variable(1, upper=10**6)
        under = model.add_variable(1, upper=10**6)
        half = int(row.sum() // 2)
        entries = [(index, int(value)) for index, value in enumerate(row)]
        model.add_row([*entries, (over, -1), (under, 1)], lower=half, upper=half)
    begin = time.monotonic()
    answer = solve_mixed(model, time_limit_s=0.5)
    assert time.monotonic() - begin < 10
    assert answer.status in ("feasible", "unknown")
    assert 0 <= answer.lower_bound < answer.objective


def test_warm_program_takes_rows_and_columns_and_gives_prices() -> None:
    # Dantzig's diet in miniature: min 2a + 3b with a + b >= 1; then a dearer rule and a cheaper column.
    program = WarmLinearProgram()
    program.add_columns([2.0, 3.0], [INFINITY, INFINITY], [[], []])
    program.add_rows([1.0], [INFINITY], [[(0, 1.0), (1, 1.0)]])
    first = program.solve()
    assert first.objective == pytest.approx(2)
    assert first.duals == pytest.approx([2])
    assert first.reduced_costs == pytest.approx([0, 1])
    program.add_rows([1.0], [INFINITY], [[(1, 1.0)]])
    assert program.solve().objective == pytest.approx(3)
    program.add_columns([0.5], [1.0], [[(0, 1.0), (1, 1.0)]])
    assert program.solve().objective == pytest.approx(0.5)
    program.set_upper([1, 2], 0.0)
    assert program.solve().status == "infeasible"


def test_model_without_rows_takes_the_cheapest_bounds() -> None:
    model = LinearModel()
    model.add_variable(2)
    model.add_variable(-3)
    model.add_variable(-1, upper=2.5, is_integer=False)
    answer = solve_mixed(model)
    assert answer.status == "optimal"
    assert answer.x == pytest.approx((0, 1, 2.5))
    assert answer.objective == pytest.approx(-5.5)


def test_model_without_variables_can_be_infeasible() -> None:
    model = LinearModel()
    model.add_row([], lower=1)
    answer = solve_mixed(model)
    assert (answer.status, answer.objective, answer.lower_bound) == ("infeasible", INFINITY, INFINITY)


@pytest.mark.parametrize("is_integer", [True, False])
def test_a_model_without_a_finite_optimum_is_an_error(is_integer: bool) -> None:
    model = LinearModel()
    model.add_variable(-1, upper=INFINITY, is_integer=is_integer)
    with pytest.raises(SolverError, match="no answer that fits"):
        solve_mixed(model)


def test_a_start_is_taken_and_a_wrong_start_does_no_harm() -> None:
    model = build_model([1, 1, 1], [([1, 1, 0], 1), ([1, 0, 1], 1), ([0, 1, 1], 1)])
    for start in ((1.0, 1.0, 1.0), (0.0, 0.0, 0.0)):
        answer = solve_mixed(model, start=start)
        assert (answer.status, answer.objective) == ("optimal", 2)


def build_large_linear_model(rng: np.random.Generator, size: int) -> tuple[list[float], list[list[tuple[int, float]]]]:
    costs = rng.uniform(1, 2, size).tolist()
    rows = [[(int(j), float(rng.uniform(0.1, 1))) for j in rng.choice(size, 40, replace=False)] for _ in range(size)]
    return costs, rows


def test_a_linear_model_cut_short_claims_no_bound() -> None:
    costs, rows = build_large_linear_model(np.random.default_rng(1), 1_500)
    model = LinearModel()
    for cost in costs:
        model.add_variable(cost, upper=INFINITY, is_integer=False)
    for row in rows:
        model.add_row(row, lower=1)
    answer = solve_mixed(model, time_limit_s=0.0)
    assert answer.status in ("unknown", "feasible")
    assert answer.lower_bound == -INFINITY


def test_a_warm_program_cut_short_says_so_and_can_go_on() -> None:
    costs, rows = build_large_linear_model(np.random.default_rng(1), 300)
    program = WarmLinearProgram()
    program.add_columns(costs, [INFINITY] * len(costs), [[] for _ in costs])
    program.add_rows([1.0] * len(rows), [INFINITY] * len(rows), rows)
    cut = program.solve(time_limit_s=0.0)
    assert (cut.status, cut.objective) == ("unknown", -INFINITY)
    whole = program.solve(time_limit_s=60)
    assert whole.status == "optimal"
    # weak duality: the prices of the rows pay for the whole objective
    assert sum(whole.duals) == pytest.approx(whole.objective)


def test_an_unbounded_warm_program_is_an_error() -> None:
    program = WarmLinearProgram()
    program.add_columns([-1.0], [INFINITY], [[]])
    with pytest.raises(SolverError, match="the solver stopped"):
        program.solve()


def test_nothing_to_change_changes_nothing() -> None:
    program = WarmLinearProgram()
    program.add_columns([2.0, 3.0], [INFINITY, INFINITY], [[], []])
    program.add_rows([1.0], [INFINITY], [[(0, 1.0), (1, 1.0)]])
    program.add_rows([], [], [])
    program.set_upper([], 0.0)
    program.set_costs([], [])
    assert program.solve().objective == pytest.approx(2)
    program.set_costs([0], [5.0])
    assert program.solve().objective == pytest.approx(3)


def test_deadline_without_limit_never_comes() -> None:
    assert Deadline(None).get_remaining_s() is None
    assert not Deadline(None).is_over()
    assert Deadline(0).is_over()
    assert Deadline(0).get_remaining_s() == 0
    assert math.isclose(Deadline(100).get_remaining_s() or 0, 100, abs_tol=1)


def test_solver_writes_nothing_to_standard_output(capfd: pytest.CaptureFixture[str]) -> None:
    solve_mixed(build_model([1], [([1], 1)]))
    assert capfd.readouterr() == ("", "")
