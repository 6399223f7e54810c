"""Which courses no cheapest learning path uses. Pure.

A course is of use when some path of least study hours holds it, be it one of several equal ones. Each course not yet
known to be of use is made a hair cheaper, so that a path of least hours takes as many of them as it can.
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
        One learning path for each part (parts share no course, and none is asked twice), and one more each time it
        holds a course that was not known to be of use.
        """
        if self._deadline.is_over():
            self.is_complete = False
            return
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
        """Note the courses of some path of least hours, as long as it holds one that is not known to be of use."""
        ids = [offer.id for offer, _ in part.operators]
        # one that takes no hours can stand in any path
        self.used.update(offer.id for offer, _ in part.operators if not offer.minutes)
        # among paths of least hours the one with most courses not yet known: a hair less than their hours
        scale = len(ids) + 1
        while part.problem.goals and any(course_id not in self.used for course_id in ids):
            if self._deadline.is_over():
                self.is_complete = False
                return
            costs = tuple(
                minutes * scale - (course_id not in self.used)
                for course_id, minutes in zip(ids, part.problem.aims[0], strict=True)
            )
            liking = replace(part, problem=replace(part.problem, aims=(costs,)))
            plan = solve_staged(liking, time_limit_s=self._deadline.get_remaining_s(), settles_ties=False)
            if plan is None or not plan.is_proved:
                self.is_complete = False
                return
            found = {offer.id for offer, _ in plan.order}
            if found <= self.used:
                return
            self.used |= found

    def get_unused(self, course_ids: Iterable[str]) -> tuple[str, ...]:
        """Return those of `course_ids` that no path looked at uses, sorted."""
        return tuple(sorted(set(course_ids) - self.used))
