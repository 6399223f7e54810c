"""The best assignment of a round, aim by aim, and of all best ones the one that comes first. Pure.

May import the problem, its model, the solver door and the deadline. Each aim is solved with the earlier ones kept as
whole numbers, part by part: parts of a round share nothing but the largest load.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass, field, replace
from typing import Final

from ontology.analysis.assessing.round_exchange import exchange
from ontology.analysis.assessing.round_model import AIMS, Aim, Grain, Limits, RoundModel
from ontology.analysis.assessing.round_problem import (
    Assignment,
    RoundProblem,
    RoundValue,
    cut,
    find_broken_rule,
    measure,
    split,
)
from ontology.analysis.assessing.round_ties import settle
from ontology.analysis.engine.solver import Deadline, SolverError, solve_mixed

__all__ = ["SolvedRound", "solve_round"]

_GRAINS: Final[dict[Aim, Grain]] = {
    "unserved": "kinds",
    "missing": "kinds",
    "largest_load_minutes": "kinds",
    "pairs": "people",
}
#: Share of the time left that one aim may take where it is not proved before. After one that is not, none is settled.
_SHARES: Final[dict[Aim, float]] = {"unserved": 0.4, "missing": 0.4, "largest_load_minutes": 0.4, "pairs": 1.0}


@dataclass(frozen=True, slots=True)
class SolvedRound:
    """An assignment, and the first aim that is not proved (None: all are), which cannot be below `lower_bound`.

    `is_settled`: it is the first of all best ones.
    """

    assignment: Assignment
    unproved: Aim | None
    lower_bound: int | None
    is_settled: bool


@dataclass
class _Part:
    numbers: tuple[int, ...]
    problem: RoundProblem
    best: Assignment
    limits: Limits = field(default_factory=Limits)


def solve_round(problem: RoundProblem, deadline: Deadline) -> SolvedRound:
    """Return the best assignment.

    Parameters
    ----------
    problem : RoundProblem
        r rows, a assessors.

    Raises
    ------
    SolverError
        The solver's assignment breaks a rule.

    Notes
    -----
    NP-hard (it holds the packing of hours): integer programs of up to r a variables, one for each part and aim.
    """
    parts = [_Part(numbers, part, build_start(part)) for numbers in split(problem) for part in [cut(problem, numbers)]]
    unproved: Aim | None = None
    lower_bound: int | None = None
    for aim in AIMS:
        bound = _solve_aim(parts, aim, deadline)
        value = _get_value(parts, aim)
        if bound < value and unproved is None:
            beside = sum(not row.able for row in problem.rows) if aim == "unserved" else 0
            beside = sum(row.wanted for row in problem.rows if not row.able) if aim == "missing" else beside
            unproved, lower_bound = aim, bound + beside
        for part in parts:
            limit = value if aim == "largest_load_minutes" else getattr(measure(part.problem, part.best), aim)
            part.limits = replace(part.limits, **{aim: limit})
    is_settled = unproved is None
    for part in parts if is_settled else ():
        part.best, is_done = settle(part.problem, RoundValue(**asdict(part.limits)), part.best, deadline)
        is_settled = is_settled and is_done
    assignment = _join(problem, parts)
    broken = find_broken_rule(problem, assignment)
    if broken:
        raise SolverError(f"the solver's round breaks a rule: {broken}")
    return SolvedRound(assignment, unproved, lower_bound, is_settled)


def _get_value(parts: list[_Part], aim: Aim) -> int:
    values = [getattr(measure(part.problem, part.best), aim) for part in parts]
    return max(values, default=0) if aim == "largest_load_minutes" else sum(values)


def _solve_aim(parts: list[_Part], aim: Aim, deadline: Deadline) -> int:
    """Better every part in one aim; return what the round cannot have less of."""
    bounds: list[int] = []
    most = 0
    for part in sorted(parts, key=lambda part: -_get_value([part], aim)):
        if aim == "pairs":
            part.best = exchange(part.problem, part.limits.largest_load_minutes or 0, part.best, deadline)
        value = _get_value([part], aim)
        if aim == "largest_load_minutes" and value <= most:
            continue  # it is not what makes the largest load
        bound = find_bound(part.problem, part.limits, aim)
        if bound < value:
            bound = max(bound, _better(part, aim, deadline.get_share(_SHARES[aim])))
        bounds.append(bound)
        most = max(most, _get_value([part], aim))
    return max(bounds, default=0) if aim == "largest_load_minutes" else sum(bounds)


def _better(part: _Part, aim: Aim, deadline: Deadline) -> int:
    """Solve one aim of one part; return its bound."""
    model = RoundModel(part.problem, part.limits, aim, _GRAINS[aim])
    found = solve_mixed(model.model, time_limit_s=deadline.get_remaining_s(), start=model.write(part.best))
    if found.x:
        read = model.read(found.x)
        # what comes later may be worse
        if getattr(measure(part.problem, read), aim) <= getattr(measure(part.problem, part.best), aim):
            part.best = read
    bound = found.lower_bound
    return (round(bound) if bound > float("-inf") else -model.constant) * model.scale + model.constant


def find_bound(problem: RoundProblem, limits: Limits, aim: Aim) -> int:
    """Return what an aim cannot be less than, as is seen at once."""
    able = [sum(problem.capacity[i] >= row.minutes for i in row.able) for row in problem.rows]
    if aim == "unserved":
        return able.count(0)
    if aim == "missing":
        return sum(max(0, row.wanted - count) for row, count in zip(problem.rows, able, strict=True))
    if aim == "pairs" and limits.missing == find_bound(problem, limits, "missing"):
        most: Counter[str] = Counter()
        for row, count in zip(problem.rows, able, strict=True):
            most[row.person] = max(most[row.person], min(row.wanted, count))
        return most.total()
    return 0


def build_start(problem: RoundProblem) -> Assignment:
    """Return an assignment that keeps every rule: the rows that fewest may do first, each to who has least to do.

    Every row gets one assessor before any gets a second. O(r a) for r rows and a assessors.
    """
    left = dict(problem.capacity)
    chosen: list[list[str]] = [[] for _ in problem.rows]
    pairs: set[tuple[str, str]] = set()
    order = sorted(range(len(problem.rows)), key=lambda n: (len(problem.rows[n].able), -problem.rows[n].minutes, n))
    for turn in range(max((row.wanted for row in problem.rows), default=0)):
        for number in order:
            row = problem.rows[number]
            free = [
                i
                for i in row.able
                if left[i] >= row.minutes and i not in chosen[number] and (i, row.person) not in pairs
            ]
            if free and turn < row.wanted:
                taken = min(free, key=lambda i: (problem.capacity[i] - left[i], i))
                chosen[number].append(taken)
                left[taken] -= row.minutes
                pairs.add((row.person, taken))
    return tuple([tuple(sorted(row)) for row in chosen])


def _join(problem: RoundProblem, parts: list[_Part]) -> Assignment:
    chosen: list[tuple[str, ...]] = [()] * len(problem.rows)
    for part in parts:
        for number, row in zip(part.numbers, part.best, strict=True):
            chosen[number] = row
    return tuple(chosen)
