"""A team's learning as one problem: the parts of all learners, their operators numbered through. Pure.

May import learners, goals and the parts of single learners.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learner_task import LearnerTask, build_learner_task, find_marks, keep_operators
from ontology.analysis.training.learners import TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_slots import group_alike

__all__ = ["TeamTask", "build_team_task"]


@dataclass(frozen=True)
class TeamTask:
    """All learners' parts; operators are numbered through.

    Attributes
    ----------
    team : TeamLearning
    goals : TrainingGoals
    parts : tuple of LearnerTask
        By person id; those who can learn nothing that counts are left out.
    """

    team: TeamLearning
    goals: TrainingGoals
    parts: tuple[LearnerTask, ...]

    @cached_property
    def operator_count(self) -> int:
        """Operators of all parts."""
        return sum(part.task.paid_count for part in self.parts)

    @cached_property
    def part_of(self) -> dict[str, LearnerTask]:
        """Person id -> part."""
        return {part.person_id: part for part in self.parts}

    def get_costs(self, aim: int) -> list[int]:
        """Return the cost of every operator: minutes of learner and coach, not coached, cents, courses."""
        return [costs[aim] for part in self.parts for costs in part.task.aims]

    def get_loads(self) -> list[int]:
        """Return the learner's own minutes of every operator."""
        return [minutes for part in self.parts for minutes in part.loads]

    def get_way(self, person_id: str, facts: frozenset[Fact]) -> int | bool:
        """Return the marker (numbered through) by which a person becomes able; True: is able, False: never will."""
        learner = self.team.learners[person_id]
        open_facts = frozenset(fact for fact in facts if not learner.is_held(fact))
        if not open_facts:
            return True
        part = self.part_of.get(person_id)
        if part is None or open_facts not in part.marker_of:
            return False
        return part.first + part.marker_of[open_facts]

    @cached_property
    def alike(self) -> list[tuple[int, ...]]:
        """Kinds of slots that ask the same of the same people, by number; none where a tolerance is wished."""
        return group_alike(self.goals.kinds) if self.goals.tolerance is None else []

    def get_filling(self, person_id: str, group: int) -> int | bool:
        """Return the operator by which a person comes to fill a slot of a group; True: can now, False: never will."""
        facts = self.goals.kinds[self.alike[group][0]].facts
        if facts is None:
            return False
        if all(self.team.learners[person_id].is_held(fact) for fact in facts):
            return True
        part = self.part_of.get(person_id)
        return False if part is None or group not in part.filling_of else part.first + part.filling_of[group]

    def keep(self, operators: Iterable[int]) -> TeamTask:
        """Return the same problem with these operators alone, reduced again; operators are numbered anew."""
        wanted = set(operators)
        parts: list[LearnerTask] = []
        first = 0
        for part in self.parts:
            kept = keep_operators(part, [n for n in range(part.task.paid_count) if part.first + n in wanted], first)
            if kept is not None:
                parts.append(kept)
                first += kept.task.paid_count
        return TeamTask(self.team, self.goals, tuple(parts))

    def get_plan(self, chosen: Iterable[int]) -> dict[str, frozenset[int]]:
        """Return the courses of each person among chosen operators."""
        wanted = set(chosen)
        plan: dict[str, frozenset[int]] = {}
        for part in self.parts:
            courses = frozenset(
                course for n, course in enumerate(part.course_of) if course >= 0 and part.first + n in wanted
            )
            if courses:
                plan[part.person_id] = courses
        return plan


def build_team_task(team: TeamLearning, goals: TrainingGoals) -> TeamTask:
    """Return the problem of a team.

    Notes
    -----
    What a learner's courses can do without the plan getting worse in any aim is left out: a course for which another,
    no dearer in minutes, cents and load and no worse in ids, stands in. O(people x size of the courses) and the
    pairs of courses that share an outcome.
    """
    abilities: dict[str, set[frozenset[Fact]]] = {}
    slots: dict[str, list[tuple[int, frozenset[Fact]]]] = {}
    for goal in goals.counts:
        for person_id in goal.people:
            abilities.setdefault(person_id, set()).add(goal.facts)
    if goals.tolerance is None:
        for group, numbers in enumerate(group_alike(goals.kinds)):
            kind = goals.kinds[numbers[0]]
            for person_id in kind.people if kind.facts is not None else ():
                slots.setdefault(person_id, []).append((group, kind.facts or frozenset()))
    else:
        for kind in goals.kinds:
            for person_id in kind.people:
                if kind.facts is not None:
                    abilities.setdefault(person_id, set()).add(kind.facts)
    parts: list[LearnerTask] = []
    first = 0
    for person_id, learner in sorted(team.learners.items()):
        limit = team.limits.get(person_id)
        marks = find_marks(learner, abilities.get(person_id, ()), slots.get(person_id, ()), limit)
        if marks.abilities or marks.fillings:
            parts.append(build_learner_task(learner, marks, limit, first))
            first += parts[-1].task.paid_count
    return TeamTask(team, goals, tuple(parts))
