"""One aim of a plan made the best, the aims before it being kept. Pure.

May import the state of the search, the bound and the choice in whole numbers. A linear program over landmarks bounds
the aim and rules operators out; the rest is reduced and bounded again, until whole numbers decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.landmark_bound import get_below
from ontology.analysis.training.training_bound import TeamBound
from ontology.analysis.training.training_master import choose_operators
from ontology.analysis.training.training_rows import Row
from ontology.analysis.training.training_state import TrainingState
from ontology.errors import SolverError

__all__ = ["minimise"]

_WORTH_SHARE: Final = 0.8
"""A problem is made smaller when at most this share of its operators is left."""


def minimise(state: TrainingState, aim: int, bound: int, deadline: Deadline) -> tuple[int, bool]:
    """Improve the best plan in one aim, the ones before being kept; return the bound and whether it is met.

    Where it is met, `allowed` shrinks to what a plan as good in this aim can hold.
    """
    while state.value[aim] > bound and not deadline.is_over():
        kept, value, row_count = state.value[:aim], state.value[aim], len(state.rows.rows)
        caps = state.get_caps(range(aim), state.value)
        search = TeamBound(state.pool, state.get_costs(aim), caps, value, deadline, state.allowed)
        search.run(state.find_start, partial(state.look, kept=kept, value=value))
        bound = max(bound, search.lower)
        if state.value[:aim] == kept and state.value[aim] > bound and row_count == len(state.rows.rows):
            # what the linear program likes, in whole numbers: quick, and most often a good plan
            _decide(state, aim, bound, search, caps, deadline, sorted({*search.x, *state.find_start()}))
        if state.value[:aim] != kept:  # a plan better in an earlier aim, which had not been proved
            state.work_on(state.whole_task)
            continue
        state.allowed = search.get_candidates(state.value[aim])
        if state.value[aim] <= bound:
            break
        if len(state.allowed) <= _WORTH_SHARE * state.task.operator_count:
            state.work_on(state.task.keep(state.allowed))
            continue
        if row_count < len(state.rows.rows):
            continue  # new sets of slots: the linear program has to know them
        bound, is_final = _decide(state, aim, bound, search, caps, deadline)
        is_stuck = state.value[: aim + 1] == (*kept, value) and row_count == len(state.rows.rows)
        if is_final or is_stuck:
            break
        if state.value[:aim] != kept:
            state.work_on(state.whole_task)
    return min(bound, state.value[aim]), state.value[aim] <= bound


def _decide(
    state: TrainingState,
    aim: int,
    bound: int,
    search: TeamBound,
    caps: list[Row],
    deadline: Deadline,
    among: Sequence[int] | None = None,
) -> tuple[int, bool]:
    """Search in whole numbers for better plans, `among` some operators or all.

    Return the bound of such plans and whether it is met; `among` some it says nothing of the others.
    """
    costs = {v: cost for v, cost in enumerate(state.get_costs(aim)) if cost}
    kept, groups = state.value[:aim], len(state.rows.groups)
    while not deadline.is_over() and state.value[:aim] == kept and len(state.rows.groups) == groups:
        upper = int(get_below(state.value[aim], search.step))
        if bound > upper:
            return bound, True
        operators = search.get_candidates(upper) if among is None else among
        choice = choose_operators(state.pool, costs, operators, caps, upper, deadline)
        if choice.status == "infeasible":
            return state.value[aim], True
        if choice.lower_bound > bound:
            bound = min(round(choice.lower_bound), state.value[aim])
        if not choice.values:
            break
        value = state.value
        if not state.find_broken(choice.values) and state.value == value and choice.status == "optimal":
            raise SolverError("a choice that breaks nothing is no plan")
    return bound, state.value[:aim] == kept and state.value[aim] <= bound
