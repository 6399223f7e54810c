"""Which courses no cheapest learning path uses. Pure.

A course is of use when some path of least study hours holds it, be it one of several equal ones: with its hours set
to nothing, the path to a role falls by exactly its hours.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.paths.catalogue import Catalogue, Stage, StagedProblem, build_staged_problem, reach_levels
from ontology.analysis.paths.planner import solve_staged, split_problem

__all__ = ["CourseUse"]


class CourseUse:
    """Notes which courses stand in a path of least hours, question by question.

    Parameters
    ----------
    catalogue : Catalogue
    deadline : Deadline
        After it nothing more is looked at, and `is_complete` is False.
    """

    def __init__(self, catalogue: Catalogue, deadline: Deadline) -> None:
        self._catalogue = catalogue
        self._deadline = deadline
        self._seen: set[tuple[object, ...]] = set()
        self.used: set[str] = set()
        self.is_complete = True

    def add(self, held: Mapping[str, int], targets: Mapping[str, int]) -> None:
        """Note the courses of every path of least hours from `held` to those of `targets` that can be reached.

        Notes
        -----
        One learning path, and one more for each course that is not yet known to be of use; parts that share no course
        are asked one by one, and none twice.
        """
        reached = reach_levels(self._catalogue, held)
        goals = frozenset(
            (i, level) for i, level in targets.items() if held.get(i, 0) < level and level <= reached.get(i, 0)
        )
        if not goals:
            return
        for part in split_problem(build_staged_problem(self._catalogue, [Stage(held, goals)])):
            key = (part.facts, part.problem.operator_ids, part.problem.goals)
            if key not in self._seen:
                self._seen.add(key)
                self._add_part(part)

    def _add_part(self, part: StagedProblem) -> None:
        if not part.problem.goals or all(offer.id in self.used for offer, _ in part.operators):
            return
        least = self._solve(part)
        if least is None:
            return
        for position, (offer, _) in enumerate(part.operators):
            if offer.id in self.used:
                continue
            hours = part.problem.aims[0]
            free = tuple(0 if at == position else minutes for at, minutes in enumerate(hours))
            value = self._solve(replace(part, problem=replace(part.problem, aims=(free,))))
            if value is None:
                return
            if value + offer.minutes == least:
                self.used.add(offer.id)

    def _solve(self, part: StagedProblem) -> int | None:
        """Return the least minutes of a part, its courses noted; None when time is up."""
        if self._deadline.is_over():
            self.is_complete = False
            return None
        plan = solve_staged(part, time_limit_s=self._deadline.get_remaining_s(), settles_ties=False)
        if plan is None or plan.value is None or not plan.is_proved:
            self.is_complete = False
            return None
        if all(self._costs_as_entered(part, offer.id) for offer, _ in plan.order):
            self.used.update(offer.id for offer, _ in plan.order)
        return plan.value

    def _costs_as_entered(self, part: StagedProblem, course_id: str) -> bool:
        return any(
            offer.id == course_id and minutes == offer.minutes
            for (offer, _), minutes in zip(part.operators, part.problem.aims[0], strict=True)
        )

    def get_unused(self, course_ids: Iterable[str]) -> tuple[str, ...]:
        """Return those of `course_ids` that no path looked at uses, sorted."""
        return tuple(sorted(set(course_ids) - self.used))
