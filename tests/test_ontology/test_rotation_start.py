"""A rotation for which the solver gives back its start while it tells the objective of a better one."""

from __future__ import annotations

from brute_rotation import find_best

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation_problem import Goal, Practice, RotationProblem
from ontology.analysis.rotation.rotation_search import solve_rotation


def test_start_that_the_solver_gives_back_is_not_taken_for_the_best() -> None:
    early, always = frozenset({0, 1, 2}), frozenset(range(4))
    problem = RotationProblem(
        intervals=4,
        slots=(1, 1),
        strain=(1, 1),
        able=({0: early}, {1: always}, {0: always, 1: early}),
        goals=(Goal(0, 1, 1, frozenset({1, 2, 3})),),
        practices=(Practice(2, (1,), 2),),
        minimum_stay=1,
        maximum_stay=2,
        has_least_strain=True,
    )
    outcome = solve_rotation(problem, Deadline(None))
    best = find_best(problem)
    assert outcome.status == "optimal"
    assert best is not None
    assert outcome.measures is not None
    assert outcome.moves_bound == outcome.measures.moves
