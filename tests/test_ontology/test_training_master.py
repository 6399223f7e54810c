"""The team's choice in whole numbers: the optimum, its bound, its limit, and claims that nothing reaches."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from small_team import build_team_rows
from training_cases import build_state, draw_state, find_best_by_trying, iterate_plans

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.engine.solver import INFINITY
from ontology.analysis.training.training_master import Choice, add_broken_cuts, choose_operators
from ontology.analysis.training.training_state import MINUTES, MISSING, TrainingState

SEEDS = range(40)
FOREVER = Deadline(None)


def choose(state: TrainingState, aim: int, upper: float = INFINITY) -> Choice:
    """Return the best choice in one aim, the fewest missing kept, once it claims nothing that it does not reach."""
    missing = find_best_by_trying(state)[0][MISSING]
    caps = state.get_caps([MISSING], (missing,)) if aim != MISSING else []
    costs = {v: cost for v, cost in enumerate(state.get_costs(aim)) if cost}
    while True:
        choice = choose_operators(state.pool, costs, range(state.task.operator_count), caps, upper, FOREVER)
        if not choice.values or not state.find_broken(choice.values):
            return choice


def get_cost(state: TrainingState, aim: int, choice: Choice) -> float:
    return sum(cost * choice.values.get(v, 0.0) for v, cost in enumerate(state.get_costs(aim)))


@pytest.mark.parametrize("aim", [MISSING, MINUTES])
def test_choice_and_its_bound_are_the_optimum_of_all_plans(aim: int) -> None:
    is_told = 0
    for seed in SEEDS:
        state = draw_state(seed)
        best = find_best_by_trying(state)[0][aim]
        choice = choose(state, aim)
        assert choice.status == "optimal"
        assert get_cost(state, aim, choice) == pytest.approx(best)
        assert choice.lower_bound == pytest.approx(best)
        is_told += best > 0
    assert is_told > len(SEEDS) / 4


@pytest.mark.parametrize("aim", [MISSING, MINUTES])
def test_limit_admits_the_optimum_and_nothing_below_it(aim: int) -> None:
    for seed in SEEDS:
        state = draw_state(seed)
        best = find_best_by_trying(state)[0][aim]
        step = math.gcd(*state.get_costs(aim)) or 1
        if best == 0 or not any(state.get_costs(aim)):
            continue
        assert choose(state, aim, best).status == "optimal"
        assert choose(state, aim, best + step - 1).status == "optimal"
        assert choose(state, aim, best - step).status == "infeasible"
        assert choose(state, aim, best - 1).status == "infeasible"


def test_choice_holds_only_operators_that_it_was_offered() -> None:
    for seed in SEEDS:
        state = draw_state(seed)
        offered = range(0, state.task.operator_count, 2)
        choice = choose_operators(state.pool, {}, offered, [], INFINITY, FOREVER)
        assert {v for v in choice.values if v < state.task.operator_count} <= set(offered)


def test_courses_that_wait_for_each_other_are_found_out_and_never_chosen_again() -> None:
    courses = {
        "courses": [{"id": i, "label": i, "hours": 1.0} for i in ("first", "second")]
        + [{"id": "sound", "label": "sound", "hours": 9.0}],
        "outcomes": [
            {"course": "first", "competency": "a", "level": 2},
            {"course": "second", "competency": "b", "level": 2},
            {"course": "sound", "competency": "a", "level": 2},
        ],
        "entry_conditions": [
            {"course": "first", "competency": "b", "level": 2},
            {"course": "second", "competency": "a", "level": 2},
        ],
    }
    needs = [{"team": "t", "competency": i, "level": 2, "minimum": 1, "target": 1} for i in "ab"]
    state = build_state(build_team_rows(p={}), needs, courses)
    claimed = dict.fromkeys(range(state.task.operator_count), 1.0)
    sound = [n for n, course in enumerate(state.task.parts[0].course_of) if course == 2]
    assert add_broken_cuts(state.pool, {o: v for o, v in claimed.items() if o not in sound}) > 0
    assert add_broken_cuts(state.pool, claimed) == 0
    choice = choose(state, MISSING)
    assert state.task.get_plan(choice.values)["p"] >= {2}
    assert choice.lower_bound == 0


def test_whole_choice_without_claims_out_of_reach_breaks_nothing() -> None:
    for seed in SEEDS:
        state = draw_state(seed)
        for plan, _ in pairwise(list(iterate_plans(state))[:200]):
            values = {}
            for part in state.task.parts:
                own = [n for n, course in enumerate(part.course_of) if course in plan.get(part.person_id, ())]
                reached = part.task.get_reached(own)
                takeable = [n for n in own if not part.task.needs[n] & ~reached]
                values |= dict.fromkeys((part.first + n for n in takeable), 1.0)
            assert add_broken_cuts(state.pool, values) == 0
