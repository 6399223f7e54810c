"""A team's plan in whole numbers: the best choice of operators that keeps every row and landmark found so far. Pure.

May import the solver door, the team's problem, its rows and cuts. Whether a choice is a plan is decided by what it
reaches, never by the solver: where it claims a level that its courses do not reach, a landmark it missed is added and
the question put again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.engine.solver import INFINITY, Deadline, LinearModel, solve_mixed
from ontology.analysis.training.training_pool import CutPool
from ontology.analysis.training.training_rows import Row

__all__ = ["Choice", "add_broken_cuts", "choose_operators"]


@dataclass(frozen=True)
class Choice:
    """Operators chosen (None: no choice keeps the rows) and what is known of any choice.

    `status` is "optimal", "feasible" (time was up), "infeasible" or "unknown"; `values` holds every variable above 0.
    """

    status: str
    values: Mapping[int, float]
    lower_bound: float


def choose_operators(
    pool: CutPool,
    costs: Mapping[int, int],
    operators: Sequence[int],
    caps: Iterable[Row],
    upper: float,
    deadline: Deadline,
) -> Choice:
    """Return a choice of least cost, no greater than `upper`, among some operators.

    Parameters
    ----------
    costs : mapping of variable to int
        What is not named costs nothing.
    operators : sequence of int
        Those that may be chosen, rising.
    caps : iterable of Row
        Besides the rows of the team.
    """
    model, columns, step = _build_model(pool, costs, operators, caps, upper)
    solution = solve_mixed(model, time_limit_s=deadline.get_remaining_s())
    values = {v: solution.x[c] for v, c in columns.items() if solution.x[c] > 0.5} if solution.x else {}
    bound = solution.lower_bound * step if math.isfinite(solution.lower_bound) else solution.lower_bound
    return Choice(solution.status, values, bound)


def _build_model(
    pool: CutPool, costs: Mapping[int, int], operators: Sequence[int], caps: Iterable[Row], upper: float
) -> tuple[LinearModel, dict[int, int], int]:
    """Return the model, the column of each variable, and the step in which the objective counts."""
    rows = pool.rows
    step = math.gcd(*costs.values()) or 1 if costs else 1
    model = LinearModel()
    columns = {o: model.add_variable(costs.get(o, 0) // step) for o in operators}
    for variable, most in rows.uppers.items():
        columns[variable] = model.add_variable(costs.get(variable, 0) // step, upper=most)
    chosen = set(operators)
    for number, part in enumerate(pool.parts):
        own = [o for o in range(part.task.paid_count) if part.first + o in chosen]
        if not own:
            continue
        facts = sorted({fact for o in own for fact in part.task.conditions[o]})
        # Whole operators make the need of a level whole.
        needed = {fact: model.add_variable(0, is_integer=False) for fact in facts}
        for o in own:
            for fact in part.task.conditions[o]:
                model.add_row([(needed[fact], 1), (columns[part.first + o], -1)], lower=0)
        cuts = dict.fromkeys(pool.finders[number].build_first_cut(fact) for fact in facts)
        cuts.update(pool.cuts[number])
        for cut in cuts:
            if cut.fact in needed:
                members = [(columns[part.first + o], 1) for o in cut.members if part.first + o in columns]
                model.add_row([*members, (needed[cut.fact], -1)], lower=0)
    for row in [*rows.rows, *caps]:
        entries = [(columns[v], value) for v, value in row.entries if v in columns]
        model.add_row(entries, lower=row.lower, upper=row.upper)
    if math.isfinite(upper):
        entries = [(columns[v], cost // step) for v, cost in costs.items() if v in columns and cost]
        model.add_row(entries, lower=-INFINITY, upper=math.floor(upper / step))
    return model, columns, step


def add_broken_cuts(pool: CutPool, values: Mapping[int, float]) -> int:
    """Add landmarks that a whole choice does not hit; return how many were new. 0: everything it claims is reached."""
    count = 0
    for number, part in enumerate(pool.parts):
        own = {o: 1.0 for o in range(part.task.paid_count) if values.get(part.first + o, 0.0) > 0.5}
        if not own:
            continue
        needed = {fact for o in own for fact in part.task.conditions[o]}
        reached = set(iterate_bits(part.task.get_reached(own)))
        if needed <= reached:
            continue
        claims = dict.fromkeys(sorted(needed), 1.0)
        finder = pool.finders[number]
        finder.set_active(list(own))
        cuts = finder.find_reach_cuts(own, claims, (0.5,), is_thorough=True)
        cuts.extend(finder.find_cuts(own, claims))
        finder.set_active(range(part.task.paid_count))
        count += len(pool.add(number, cuts))
    return count
