"""A staged problem put to the engine, and its answer as offers in stages. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from ontology.analysis.catalogue import Offer, StagedProblem
from ontology.analysis.landmarks import solve_cheapest_plan

__all__ = ["Plan", "solve_staged"]


@dataclass(frozen=True, slots=True)
class Plan:
    """The courses chosen.

    `order` holds (offer, stage) in an order in which every entry condition is met. `value` is the total in the first
    aim (minutes, cents or number), None where time was up before any plan was found; `lower_bound` holds whatever
    was found.
    """

    order: tuple[tuple[Offer, int], ...]
    value: int | None
    lower_bound: int
    is_proved: bool


def solve_staged(staged: StagedProblem, *, time_limit_s: float | None = None, settles_ties: bool = True) -> Plan | None:
    """Return the cheapest placement of courses; None where there is none.

    Parameters
    ----------
    staged : StagedProblem
    time_limit_s : float or None
        Seconds; None: until proved.
    settles_ties : bool
        Whether later aims and ids settle ties; without them any plan of least cost is returned, sooner.

    Raises
    ------
    SolverError
        The solver failed.
    """
    result = solve_cheapest_plan(staged.problem, time_limit_s=time_limit_s, lexicographic=settles_ties)
    if result.status in ("unreachable", "infeasible"):
        return None
    if result.status == "unknown":
        return Plan((), None, result.lower_bound, False)
    order = tuple(staged.operators[operator] for operator in result.operators)
    return Plan(order, result.totals[0], result.lower_bound, result.is_proved)
