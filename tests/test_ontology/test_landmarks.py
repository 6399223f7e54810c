"""The cheapest plan is the cheapest: against trying every set, with every tie-break."""

from __future__ import annotations

from hypothesis import given, settings
from relaxed_cases import find_best_by_trying, problems

from ontology.analysis.landmarks import PlanResult, solve_cheapest_plan
from ontology.analysis.relaxed import RelaxedProblem, get_closure


def check_against_trying(problem: RelaxedProblem) -> PlanResult:
    result = solve_cheapest_plan(problem)
    expected = find_best_by_trying(problem)
    if expected is None:
        assert result.status == "infeasible"
        assert result.is_proved
        return result
    assert result.is_proved
    assert (result.totals, tuple(sorted(result.operator_ids))) == expected
    assert result.lower_bound == result.totals[0]
    return result


@settings(max_examples=400, deadline=None)
@given(problems())
def test_plan_is_the_best_of_all_sets_with_all_tie_breaks(problem: RelaxedProblem) -> None:
    result = check_against_trying(problem)
    reachable = get_closure(problem, problem.paid_operators)
    assert set(result.unreachable) == problem.goals - reachable
    if result.status not in ("infeasible", "unreachable"):
        assert result.status == ("optimal" if problem.goals - get_closure(problem, ()) else "nothing-to-do")
