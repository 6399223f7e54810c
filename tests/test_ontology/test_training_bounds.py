"""One learner's bound at given prices: never above the best choice, and close to it; signs of row prices."""

from __future__ import annotations

import random
from datetime import timedelta
from itertools import chain, combinations

import numpy as np
import pytest
from small_company import ON
from small_team import build_team, build_team_rows
from training_cases import draw_state

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training
from ontology.analysis.training.learner_task import LearnerTask
from ontology.analysis.training.training_pool import LearnerBound, clip_duals


def find_cheapest(part: LearnerTask, costs: list[float]) -> float:
    """Return the least cost of operators that all can be taken together, by trying every set of them."""
    task = part.task
    everything = range(task.paid_count)
    best = 0.0
    for chosen in chain.from_iterable(combinations(everything, n) for n in range(1, task.paid_count + 1)):
        reached = task.get_reached(chosen)
        if all(not task.needs[o] & ~reached for o in chosen):
            best = min(best, sum(costs[o] for o in chosen))
    return best


def test_bound_of_a_learner_is_never_above_the_cheapest_choice_and_mostly_meets_it() -> None:
    asked = met = 0
    for seed in range(40):
        state, rng = draw_state(seed), random.Random(seed)
        for number, part in enumerate(state.task.parts):
            is_out = np.zeros(part.task.paid_count, dtype=bool)
            bound = LearnerBound(state.pool, number, [], is_out)
            for _ in range(3):
                costs = [
                    float(rng.randint(1, 90)) if course >= 0 else -float(rng.randint(0, 200))
                    for course in part.course_of
                ]
                found = bound.solve(np.array(costs), Deadline(None))
                best = find_cheapest(part, costs)
                assert found is not None
                assert found.bound <= best + 1e-6
                asked += best < 0
                met += best < 0 and found.bound > best - 1e-6
    assert asked > 40
    assert met >= 0.8 * asked


def test_price_tells_what_an_operator_adds_at_least() -> None:
    for seed in range(20):
        state, rng = draw_state(seed), random.Random(seed)
        for number, part in enumerate(state.task.parts):
            costs = [float(rng.randint(1, 90)) if course >= 0 else -150.0 for course in part.course_of]
            bound = LearnerBound(state.pool, number, [], np.zeros(part.task.paid_count, dtype=bool))
            found = bound.solve(np.array(costs), Deadline(None))
            assert found is not None
            for chosen in combinations(range(part.task.paid_count), 2):
                reached = part.task.get_reached(chosen)
                if all(not part.task.needs[o] & ~reached for o in chosen):
                    least = found.bound + max(0.0, *(found.prices[o] for o in chosen))
                    assert sum(costs[o] for o in chosen) >= least - 1e-6


def test_operator_that_is_ruled_out_earns_nothing() -> None:
    state = draw_state(3)
    part = state.task.parts[0]
    costs = np.array([1.0 if course >= 0 else -50.0 for course in part.course_of])
    bound = LearnerBound(state.pool, 0, [], np.zeros(part.task.paid_count, dtype=bool))
    before = bound.solve(costs, Deadline(None))
    bound.rule_out([n for n, course in enumerate(part.course_of) if course < 0])
    after = bound.solve(costs, Deadline(None))
    assert before is not None
    assert after is not None
    assert before.bound < -1
    assert after.bound == pytest.approx(0.0)


def test_row_price_with_the_sign_of_an_open_side_counts_as_nothing() -> None:
    sides = np.array([[0.0, np.inf], [0.0, np.inf], [-np.inf, 3.0], [-np.inf, 3.0], [1.0, 1.0], [1.0, 1.0], [0.0, 1.0]])
    duals = np.array([2.0, -2.0, 2.0, -2.0, 2.0, -2.0, 1e-12])
    assert clip_duals(duals, sides).tolist() == [2.0, 0.0, 0.0, -2.0, 2.0, -2.0, 0.0]


def test_cheaper_course_that_begins_later_does_not_push_out_the_one_that_is_in_time() -> None:
    courses = {
        "courses": [
            {"id": "late", "label": "late", "hours": 4.0, "lead_weeks": 3.0},
            {"id": "soon", "label": "soon", "hours": 5.0},
            {"id": "then", "label": "then", "hours": 4.0, "weeks": 4.0},
        ],
        "outcomes": [
            {"course": "late", "competency": "a", "level": 1},
            {"course": "soon", "competency": "a", "level": 1},
            {"course": "then", "competency": "a", "level": 2},
        ],
        "entry_conditions": [{"course": "then", "competency": "a", "level": 1}],
    }
    need = {"team": "t", "competency": "a", "level": 2, "minimum": 1, "target": 1}
    team = build_team(build_team_rows(p={}), cover_needs=[need], **courses)
    assert plan_cross_training(team, "t", ON).learners[0].courses == ("late", "then")
    by = TrainingAsked(by=ON + timedelta(weeks=7) - timedelta(days=1))
    result = plan_cross_training(team, "t", ON, asked=by)
    assert (result.missing, result.learners[0].courses) == (0, ("soon", "then"))
