"""One question for a learning path, and the same question with paths barred or a level confirmed. Pure.

What the main path, its alternatives and the worth of a confirmation share: the courses allowed, those booked, the aims,
the budget.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from fractions import Fraction

from ontology.analysis.engine.relaxed import SideRow, find_closure
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.aims import Aim
from ontology.analysis.paths.catalogue import Catalogue, Fact, Offer, Stage, StagedProblem, build_staged_problem
from ontology.analysis.paths.planner import PartSolver, Plan, solve_staged

__all__ = ["PathProblem", "PathSolver", "get_totals"]

Totals = tuple[Fraction, ...]


@dataclass(frozen=True)
class PathProblem:
    """What is asked.

    Attributes
    ----------
    catalogue : Catalogue
        Without the excluded courses, with the booked ones.
    levels : Mapping of competency id to level
        Held at the start.
    goals : frozenset of (competency, level)
        Open levels that the courses can reach.
    aims : sequence of Aim
        In the order in which they matter.
    booked : set of str
    pace : float
        Study hours a week that weeks are counted with.
    """

    catalogue: Catalogue
    levels: Mapping[str, int]
    goals: frozenset[Fact]
    aims: tuple[Aim, ...]
    booked: AbstractSet[str]
    pace: float

    def build(self) -> StagedProblem:
        """Return the problem for the planner. O(size of what can matter)."""
        return build_staged_problem(
            self.catalogue, [Stage(self.levels, self.goals)], aims=self.aims, booked=self.booked, pace=self.pace
        )


def get_totals(offers: Iterable[Offer], aims: Sequence[Aim], pace: float) -> Totals:
    """Return what the courses cost together in each aim: minutes, cents, number, weeks."""
    chosen = list(offers)
    sums = {
        "hours": Fraction(sum(offer.minutes for offer in chosen)),
        "cost": Fraction(sum(offer.cents for offer in chosen)),
        "courses": Fraction(len(chosen)),
    }
    if "weeks" in aims:
        sums["weeks"] = sum((offer.get_weeks(pace) for offer in chosen), Fraction(0))
    return tuple(sums[aim] for aim in aims)


class PathSolver:
    """Solves variants of one question until a deadline.

    Parameters
    ----------
    staged : StagedProblem
        What `problem` builds, with the limits that alternatives keep.
    """

    def __init__(self, problem: PathProblem, staged: StagedProblem, deadline: Deadline) -> None:
        self.problem = problem
        self.deadline = deadline
        self._staged = staged
        self._parts = PartSolver(deadline)

    @property
    def size(self) -> int:
        """Number of courses that can matter."""
        return len(self._staged.operators)

    def solve_apart(self, known: Iterable[AbstractSet[str]]) -> Plan | None:
        """Return the cheapest plan that holds none of these sets of courses whole; None where there is none.

        Where time was up before one was found, its `value` is None.
        """
        staged = self._staged
        number = {offer.id: position for position, (offer, _) in enumerate(staged.operators)}
        rows = tuple(SideRow(tuple((number[i], 1) for i in sorted(ids)), len(ids) - 1) for ids in known)
        problem = replace(staged.problem, side_rows=staged.problem.side_rows + rows)
        return solve_staged(replace(staged, problem=problem), time_limit_s=self.deadline.get_remaining_s())

    def solve_confirmed(self, fact: Fact) -> Plan:
        """Return the cheapest plan, in the aims down to hours, for the goals left when a level is held after all.

        Whatever the budget.
        """
        competency_id, level = fact
        aims = self.problem.aims
        levels = {**self.problem.levels, competency_id: level}
        goals = frozenset((i, asked) for i, asked in self.problem.goals if asked > levels.get(i, 0))
        variant = replace(self.problem, levels=levels, goals=goals, aims=aims[: aims.index("hours") + 1])
        plan = self._parts.solve(variant.build())
        assert plan is not None, "a level more never puts a goal out of reach"
        return plan

    def find_indispensable(self, course_ids: Iterable[str]) -> tuple[str, ...]:
        """Return those of the courses without which the goals cannot be reached at all, by id. O(courses x size)."""
        problem, operators = self._staged.problem, self._staged.operators
        return tuple(
            i
            for i in sorted(course_ids)
            if not problem.goals
            <= find_closure(problem, [n for n, (offer, _) in enumerate(operators) if offer.id != i])
        )
