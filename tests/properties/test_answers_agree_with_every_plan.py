"""Cross-training plans of tiny teams against every choice of courses: needs, places and slots of groups, in time."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from every_plan import draw_tiny_team, find_best_of_all
from small_company import ON, build_snapshot

from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training


@pytest.mark.parametrize("seed", range(60))
def test_plan_is_the_best_of_all(seed: int) -> None:
    rng = random.Random(f"question {seed}")
    rows = draw_tiny_team(seed)
    holes = rng.choice(["all", "all", "all", "needs", "places"])
    by = rng.choice([None, ON + timedelta(days=rng.randint(0, 30))])
    plan = plan_cross_training(build_snapshot(**rows), "t", ON, asked=TrainingAsked(by=by), holes=holes)
    pairs = tuple(sorted((row.person, course) for row in plan.learners for course in row.courses))
    found = plan.missing, round(plan.total_hours * 60), round(plan.cost * 100), len(pairs), pairs
    assert found == find_best_of_all(rows, holes, by)
    assert plan.is_proved
    assert plan.lower_bound == plan.total_hours
