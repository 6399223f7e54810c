"""One aim after the other: bounds that hold, proofs that are proofs, loads levelled and ids settled."""

from __future__ import annotations

import math

import pytest
from training_cases import draw_state, find_best_by_trying, get_pairs, iterate_plans

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.training.training_aim import minimise
from ontology.analysis.training.training_state import CENTS, COURSES, LOAD, MINUTES, MISSING, UNCOACHED, TrainingState
from ontology.analysis.training.training_ties import level_loads, settle_ids

SEEDS = range(60)
FOREVER = Deadline(None)


def hold_operators(state: TrainingState, plan: dict[str, frozenset[int]]) -> bool:
    """Whether the problem now worked on holds the plan among the operators that may matter."""
    allowed = set(state.allowed)
    held = {
        (part.person_id, course)
        for part in state.task.parts
        for n, course in enumerate(part.course_of)
        if part.first + n in allowed
    }
    return all((person, course) in held for person, courses in plan.items() for course in courses)


@pytest.mark.parametrize("seed", SEEDS)
def test_each_aim_ends_at_the_optimum_with_its_proof_and_keeps_the_best_plan(seed: int) -> None:
    state = draw_state(seed)
    best, pairs = find_best_by_trying(state)
    plan = next(p for p in iterate_plans(state) if (state.get_value(p), get_pairs(state, p)) == (best, pairs))
    for aim in (MISSING, MINUTES, UNCOACHED, CENTS, COURSES):
        assert minimise(state, aim, 0, FOREVER) == (best[aim], True)
        assert state.value[: aim + 1] == best[: aim + 1]
        assert hold_operators(state, plan)
    settle_ids(state, FOREVER)
    assert (state.value, get_pairs(state, state.plan)) == (best, pairs)


def test_bound_given_is_kept_and_met_at_once() -> None:
    for seed in SEEDS:
        state = draw_state(seed)
        best = find_best_by_trying(state)[0][MISSING]
        assert minimise(state, MISSING, best, FOREVER) == (best, True)


def test_nothing_is_proved_once_time_is_up() -> None:
    open_ones = 0
    for seed in SEEDS:
        state = draw_state(seed)
        before = state.value[MINUTES]
        bound, is_met = minimise(state, MINUTES, 0, Deadline(0.0))
        assert (bound, is_met) == (0, before == 0)
        assert state.value[MINUTES] == before
        open_ones += before > 0
    assert open_ones > len(SEEDS) / 2


@pytest.mark.parametrize("seed", SEEDS)
def test_largest_load_is_the_least_that_misses_as_few(seed: int) -> None:
    state = draw_state(seed, is_fair=True)
    best, _ = find_best_by_trying(state)
    minimise(state, MISSING, 0, FOREVER)
    assert level_loads(state, FOREVER)
    assert state.value[: LOAD + 1] == best[: LOAD + 1]
    for aim in (MINUTES, UNCOACHED, CENTS, COURSES):
        assert minimise(state, aim, 0, FOREVER) == (best[aim], True)
    settle_ids(state, FOREVER)
    assert (state.value, get_pairs(state, state.plan)) == find_best_by_trying(state)


def test_load_is_not_called_least_once_time_is_up() -> None:
    for seed in SEEDS:
        state = draw_state(seed, is_fair=True)
        assert level_loads(state, Deadline(0.0)) == (state.value[LOAD] == 0)


def test_bound_of_an_aim_is_a_multiple_of_its_step() -> None:
    for seed in SEEDS:
        state = draw_state(seed)
        step = math.gcd(*state.get_costs(MINUTES)) or 1
        minimise(state, MISSING, 0, FOREVER)
        assert minimise(state, MINUTES, 0, FOREVER)[0] % step == 0
