"""Fewest people missing in large teams with a limit of hours, against another solver.

Source: OR-Tools CP-SAT 9.15 (Perron & Didier) on the same landmark programs, run by us: 18 and 14 are proved there too.
HiGHS 1.16.0 with all its presolve called 20 or fewer impossible in the first of them.
"""

from __future__ import annotations

import pytest
from large_team import build_large_team
from small_company import ON

from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training


@pytest.mark.parametrize(("seed", "fewest"), [(0, 18), (1, 14)])
def test_fewest_missing_in_a_team_of_forty_is_what_another_solver_proves(seed: int, fewest: int) -> None:
    team = build_large_team(seed, is_bundled=False, more=3)
    result = plan_cross_training(team, "t", ON, asked=TrainingAsked(hours_limit=40.0))
    assert result.missing == fewest
    assert result.is_proved
    assert result.lower_bound == result.total_hours
