"""How many people a plan leaves missing, kept up to date course by course. Pure.

May import learners and goals. Only what one person's courses touch is counted anew.
"""

from __future__ import annotations

from collections.abc import Iterable

from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learners import CanDoAfter, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals

__all__ = ["TrainingTally"]


class TrainingTally:
    """The plan so far and what is still missing.

    Parameters
    ----------
    team : TeamLearning
    goals : TrainingGoals

    Attributes
    ----------
    plan : dict of person id to operators
        Change it by `set_courses`.
    missing : int
        Missing people, weighted, over all goals.
    """

    def __init__(self, team: TeamLearning, goals: TrainingGoals) -> None:
        self.team = team
        self.goals = goals
        self.plan: dict[str, frozenset[int]] = {}
        self._reached: dict[str, frozenset[Fact]] = {}
        self._goals_of: dict[str, list[int]] = {}
        self._kind_facts: dict[str, list[frozenset[Fact]]] = {}
        can_do = CanDoAfter(team, {})
        for number, goal in enumerate(goals.counts):
            for person_id in goal.people:
                self._goals_of.setdefault(person_id, []).append(number)
        for kind in goals.kinds:
            for person_id in kind.people:
                if kind.facts is not None:
                    self._kind_facts.setdefault(person_id, []).append(kind.facts)
        self._able = [sum(can_do(person, goal.facts) for person in goal.people) for goal in goals.counts]
        self._missing_for_places = self._count_for_places(self.plan)
        self.missing = goals.count_missing(can_do)

    @property
    def has_scarce_places(self) -> bool:
        """Whether too few people are able for some set of slots."""
        return self._missing_for_places > 0

    def is_open(self, number: int) -> bool:
        """Whether a goal of `goals.counts` still misses people."""
        return self._able[number] < self.goals.counts[number].wanted

    def can_do(self, person_id: str, facts: Iterable[Fact]) -> bool:
        """Whether the person has all of these levels after the plan so far."""
        return self.team.learners[person_id].holds_after(facts, self._reached.get(person_id, frozenset()))

    def get_missing_with(self, person_id: str, operators: frozenset[int]) -> int:
        """Return what would be missing if the person took just these courses."""
        return self._compare(person_id, operators)[0]

    def set_courses(self, person_id: str, operators: frozenset[int]) -> None:
        """Give the person just these courses."""
        missing, changes, for_places = self._compare(person_id, operators)
        self._missing_for_places = for_places
        self.missing = missing
        for number, change in changes:
            self._able[number] += change
        self._reached[person_id] = self.team.learners[person_id].get_reached(operators)
        self.plan[person_id] = operators
        if not operators:
            del self.plan[person_id]

    def _count_for_places(self, plan: dict[str, frozenset[int]]) -> int:
        scarce = self.goals.find_scarce_kinds(CanDoAfter(self.team, plan)) if self.goals.kinds else []
        return scarce[0].missing if scarce else 0

    def _compare(self, person_id: str, operators: frozenset[int]) -> tuple[int, list[tuple[int, int]], int]:
        """Return what would be missing, the goals that count one person more or fewer, and what places would miss."""
        learner = self.team.learners[person_id]
        before = self._reached.get(person_id, frozenset())
        after = learner.get_reached(operators)
        touched = before ^ after
        missing = self.missing
        changes = []
        for number in self._goals_of.get(person_id, ()):
            goal = self.goals.counts[number]
            if goal.facts.isdisjoint(touched):
                continue
            change = learner.holds_after(goal.facts, after) - learner.holds_after(goal.facts, before)
            if change:
                changes.append((number, change))
                able = self._able[number]
                missing += goal.weight * (max(0, goal.wanted - able - change) - max(0, goal.wanted - able))
        for_places = self._missing_for_places
        if any(
            learner.holds_after(facts, after) != learner.holds_after(facts, before)
            for facts in self._kind_facts.get(person_id, ())
        ):
            for_places = self._count_for_places({**self.plan, person_id: operators})
            missing += self.goals.place_weight * (for_places - self._missing_for_places)
        return missing, changes, for_places
