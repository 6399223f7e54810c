"""The largest load made small, and among plans equal in every aim the one of the smallest ids. Pure.

May import the state of the search, the bound and the choice in whole numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.solver import INFINITY
from ontology.analysis.training.training_bound import TeamBound
from ontology.analysis.training.training_greedy import build_greedy_plan
from ontology.analysis.training.training_master import choose_operators
from ontology.analysis.training.training_rows import Row
from ontology.analysis.training.training_state import COURSES, LOAD, MISSING, TrainingState

__all__ = ["level_loads", "settle_ids"]

_ID_BATCH: Final = 18
"""Pairs settled at a time by powers of two. Near 2 ** 20 the solver's bound is no longer sure to be whole."""

_ID_LIMIT: Final = 2000
"""Above this many (person, course) pairs that still matter the ids are not settled, only always the same."""


def level_loads(state: TrainingState, deadline: Deadline) -> bool:
    """Make the largest load of one learner the least, by halving what is open; tell whether it is proved."""
    loads = state.task.get_loads()
    step = math.gcd(*loads) or 1
    low = 0
    while state.value[LOAD] > low and not deadline.is_over():
        limit = (low + state.value[LOAD] - 1) // 2 // step * step
        is_possible = _find_plan_within(state, max(low, limit), loads, deadline)
        if is_possible is None:
            return False
        if not is_possible:
            low = max(low, limit) + step
    return state.value[LOAD] <= low


def _find_plan_within(state: TrainingState, limit: int, loads: Sequence[int], deadline: Deadline) -> bool | None:
    """Look for a plan that misses as few people with no load above a limit; None when time was up."""
    state.take(build_greedy_plan(state.team.limit_all(limit), state.goals))
    if state.value[LOAD] <= limit:
        return True
    caps = state.rows.build_load_rows(state.team.limit_all(limit).limits)
    allowed = [o for o in state.allowed if loads[o] <= limit]
    costs = state.get_costs(MISSING)
    most = state.value[MISSING]
    search = TeamBound(state.pool, costs, caps, most + (math.gcd(*costs) or 1), deadline, allowed)
    search.run(list, lambda _: search.upper)
    if search.lower > most:
        return False
    operators = search.get_candidates(most)
    while not deadline.is_over():
        state.look(search.x, (), state.value[MISSING])
        if state.value[LOAD] <= limit:
            return True
        named = {v: cost for v, cost in enumerate(state.get_costs(MISSING)) if cost}
        choice = choose_operators(state.pool, named, operators, caps, most, deadline)
        if choice.status == "infeasible":
            return False
        if not choice.values:
            return None
        state.find_broken(choice.values)
        if state.value[LOAD] <= limit:
            return True
    return None


def settle_ids(state: TrainingState, deadline: Deadline) -> None:
    """Make the sorted (person, course) pairs the smallest possible, all aims being kept."""
    allowed = set(state.allowed)
    pairs = sorted(
        (part.person_id, course, part.first + n)
        for part in state.task.parts
        for n, course in enumerate(part.course_of)
        if course >= 0 and part.first + n in allowed
    )
    if len(pairs) > _ID_LIMIT or _is_only_plan(state, deadline):
        return
    fixed: list[Row] = []
    left = state.value[COURSES]
    for begin in range(0, len(pairs), _ID_BATCH):
        batch = pairs[begin : begin + _ID_BATCH]
        if not left or not _settle_batch(state, [operator for _, _, operator in batch], fixed, deadline):
            return
        for person_id, course, operator in batch:
            is_chosen = course in state.plan.get(person_id, ())
            left -= is_chosen
            fixed.append(Row(((operator, 1),), lower=int(is_chosen), upper=int(is_chosen)))


def _is_only_plan(state: TrainingState, deadline: Deadline) -> bool:
    """Whether no other plan is as good in every aim; the best so far is no part of one."""
    chosen = [
        part.first + n
        for part in state.task.parts
        for n, course in enumerate(part.course_of)
        if course >= 0 and course in state.plan.get(part.person_id, ())
    ]
    other = Row(tuple((operator, 1) for operator in chosen), upper=len(chosen) - 1)
    caps = [*state.get_caps(range(COURSES + 1), state.value), other]
    choice = choose_operators(state.pool, {}, state.allowed, caps, INFINITY, deadline)
    return choice.status == "infeasible"


def _settle_batch(state: TrainingState, operators: list[int], fixed: list[Row], deadline: Deadline) -> bool:
    costs = {operator: -(1 << (len(operators) - 1 - n)) for n, operator in enumerate(operators)}
    while not deadline.is_over():
        caps = [*state.get_caps(range(COURSES + 1), state.value), *fixed]
        choice = choose_operators(state.pool, costs, state.allowed, caps, INFINITY, deadline)
        if choice.status != "optimal":
            return False
        if not state.find_broken(choice.values):
            state.plan = state.task.get_plan(v for v, value in choice.values.items() if value > 0.5)
            return True
    return False
