"""The cheapest plan of a delete-free problem, exactly: minimum-cost hitting sets over landmarks made on the fly.

May import the relaxed problem, the solver door and the other landmark files. Minimum-cost delete-free planning is
NP-hard (Bylander 1994, Artificial Intelligence 69). Method: Haslum, Slaney & Thiebaux 2012 (ICAPS) and Bonet &
Helmert 2010 (ECAI), with a linear program before the integer one, columns priced in, and prices that rule operators
out. Aims are met in order: each later one with the earlier ones fixed at their optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ontology.analysis.engine.landmark_bound import BoundSearch, get_below
from ontology.analysis.engine.landmark_master import IntegerMaster
from ontology.analysis.engine.landmark_plans import extract_plan, find_supporters
from ontology.analysis.engine.landmark_reduction import build_task, reduce_task
from ontology.analysis.engine.landmark_task import ReducedTask
from ontology.analysis.engine.landmark_ties import TieBreaker
from ontology.analysis.engine.relaxed import RelaxedProblem, find_applicable_order, find_closure, remove_redundant
from ontology.analysis.engine.solver import INFINITY, Deadline
from ontology.errors import SolverError

__all__ = ["PlanResult", "Status", "solve_cheapest_plan"]

Status = Literal["optimal", "feasible", "unreachable", "nothing-to-do", "infeasible", "unknown"]

_NARROW_SHARES = (0.08, 0.3)
"""The first integer searches look at operators well within the gap only; they are quick and find good plans."""

_FEW = 150
"""So many operators need no narrow search before the complete one."""

_WORTH_SHARE = 0.7
"""A task is reduced again when at most this share of its operators is left."""


@dataclass(frozen=True)
class PlanResult:
    """The cheapest plan found, and what is known about it.

    Attributes
    ----------
    status : str
        "optimal"; "feasible": best found within the time limit; "unreachable": some goals cannot be reached, the
        plan is for the others; "nothing-to-do"; "infeasible": goals can be reached, but not within the side rows;
        "unknown": time was up before any plan within the side rows was found.
    operators : tuple of int
        Chosen operators in an order in which every condition is met; none can be left out.
    operator_ids : tuple of str
        Their ids.
    totals : tuple of int
        Cost in each aim.
    lower_bound : int
        No plan costs less in the first aim.
    is_proved : bool
        Whether the plan is proved to cost least in the first aim (or proved that there is none).
    unreachable : tuple of int
        Goals that no set of operators reaches, rising.
    """

    status: Status
    operators: tuple[int, ...]
    operator_ids: tuple[str, ...]
    totals: tuple[int, ...]
    lower_bound: int
    is_proved: bool
    unreachable: tuple[int, ...] = ()


def solve_cheapest_plan(
    problem: RelaxedProblem, *, time_limit_s: float | None = None, lexicographic: bool = True
) -> PlanResult:
    """Return a plan of least cost for all goals that can be reached.

    Parameters
    ----------
    time_limit_s : float or None
        Seconds, checked between steps; None: until proved. After it the best plan found and a valid lower bound.
    lexicographic : bool
        True: the first aim, then each later one in order, then the fewest operators, then the lexicographically
        smallest sorted tuple of ids. False: the first aim alone; which of several best plans is left open.

    Returns
    -------
    PlanResult
        The same for any order of the operators, unless the time limit struck.

    Raises
    ------
    SolverError
        The solver failed.

    Notes
    -----
    Worst case exponential (NP-hard). Whether a plan reaches the goals is always decided by closure, never by the
    solver: two operators that condition each other support nothing.

    References
    ----------
    .. [1] Haslum, Slaney & Thiebaux (2012), ICAPS 22, 128-136.
    .. [2] Bonet & Helmert (2010), ECAI 19, 329-334.

    Examples
    --------
    >>> problem = RelaxedProblem(
    ...     3, ("both", "first", "second"), (frozenset({0}),) * 3,
    ...     (frozenset({1, 2}), frozenset({1}), frozenset({2})), ((5, 3, 3),), frozenset({0}), frozenset({1, 2}))
    >>> result = solve_cheapest_plan(problem)
    >>> result.operator_ids, result.totals, result.status
    (('both',), (5,), 'optimal')
    """
    deadline = Deadline(time_limit_s)
    reachable = problem.reachable
    unreachable = tuple(sorted(problem.goals - reachable))
    goals = (problem.goals & reachable) - problem.held
    if not goals:
        status: Status = "unreachable" if unreachable else "nothing-to-do"
        return PlanResult(status, (), (), (0,) * len(problem.aims), 0, True, unreachable)
    search = _FirstAimSearch(build_task(problem, goals), deadline)
    search.run()
    plan = search.plan
    if plan is None:
        is_proved = search.lower == INFINITY
        bound = 0 if is_proved else int(search.lower)
        status = "infeasible" if is_proved else "unknown"
        return PlanResult(status, (), (), (0,) * len(problem.aims), bound, is_proved, unreachable)
    is_proved = search.lower >= search.upper
    if lexicographic and is_proved:
        plan = TieBreaker(problem, search.task, search.bound, deadline).improve(plan)
    plan = remove_redundant(problem, plan)
    if not goals <= find_closure(problem, plan):
        raise SolverError("The plan found does not reach every goal.")
    order = find_applicable_order(problem, plan)
    totals = tuple(sum(aim[operator] for operator in order) for aim in problem.aims)
    return PlanResult(
        status="unreachable" if unreachable else "optimal" if is_proved else "feasible",
        operators=tuple(order),
        operator_ids=tuple(problem.operator_ids[operator] for operator in order),
        totals=totals,
        lower_bound=min(int(search.lower), totals[0]),
        is_proved=is_proved,
        unreachable=unreachable,
    )


class _FirstAimSearch:
    """Narrows the first aim from both sides until the bounds meet.

    Attributes
    ----------
    plan : list of int or None
        Operators of the problem.
    lower, upper : float
        `lower` infinite: proved that there is no plan.
    task, bound
        The last reduced task with its bound search; its operators hold every best plan.
    """

    def __init__(self, task: ReducedTask, deadline: Deadline) -> None:
        self.plan: list[int] | None = None
        self.lower: float = 0
        self.upper: float = INFINITY
        self._deadline = deadline
        # Without side rows the linear program rules out nearly everything at once; that is cheaper.
        self.task = reduce_task(task, range(task.paid_count)) if task.side_rows else task
        self.bound = self._tighten()

    def _tighten(self) -> BoundSearch:
        """Run the linear program on the present task and take over what it finds."""
        bound = BoundSearch(self.task, self._deadline, self.upper, int(self.lower))
        bound.run()
        self._take_over(bound)
        return bound

    def _take_over(self, bound: BoundSearch) -> None:
        if bound.upper < self.upper:
            self.upper = bound.upper
            self.plan = [self.task.sources[operator] for operator in bound.plan or ()]
        self.lower = max(self.lower, min(bound.lower, self.upper))

    def run(self) -> None:
        """Rule out, reduce and bound again; good plans from few operators; at last all that is left."""
        narrow, bounded_for = 0, self.upper if self.task.side_rows else -1.0
        while self.lower < self.upper and not self._deadline.is_over():
            left = self.bound.get_candidates(self.upper)
            if not left:
                # No operator may stand in a better plan, and no plan does without any.
                self.lower = self.upper
            elif self.upper != bounded_for or len(left) <= _WORTH_SHARE * self.task.paid_count:
                bounded_for = self.upper
                self.task = reduce_task(self.task, left)
                self.bound = self._tighten()
            elif narrow < len(_NARROW_SHARES) and len(left) > _FEW and self.upper < INFINITY:
                self._search(self.bound.get_candidates(self.upper, _NARROW_SHARES[narrow]), is_complete=False)
                narrow += self.upper == bounded_for
            elif not self._search(self.bound.get_candidates(get_below(self.upper, self.bound.step)), is_complete=True):
                return

    def _search(self, operators: Sequence[int], *, is_complete: bool) -> bool:
        """Look for a better plan among `operators`; tell whether the answer is final for them.

        If they are all that a better plan may hold (`is_complete`), their bound is the bound of the problem.
        """
        bound = self.bound
        costs = bound.costs

        def report(chosen: list[int], proved: float) -> float:
            if is_complete:
                self.lower = max(self.lower, min(proved, self.upper))
            liked = {operator: float(costs[operator]) for operator in operators}
            liked.update(dict.fromkeys(chosen, 0.0))
            bound.offer_plan(extract_plan(self.task, find_supporters(self.task, liked)[1]))
            self._take_over(bound)
            return get_below(self.upper, bound.step)

        master = IntegerMaster(self.task, bound.finder, bound.cuts, self._deadline)
        answer = master.minimise(costs, operators, upper=get_below(self.upper, bound.step), report=report)
        bound.cuts.update(master.cuts)
        if answer.status == "optimal":
            bound.offer_plan(answer.plan)
            self._take_over(bound)
        if is_complete:
            proved = self.upper if answer.status == "infeasible" else answer.lower_bound
            self.lower = max(self.lower, min(proved, self.upper))
        return answer.status != "unknown"
