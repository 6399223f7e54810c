"""How many people a plan leaves missing, kept up to date course by course. Pure.

May import learners and goals. Only what one person's courses touch is counted anew.
"""

from __future__ import annotations

from collections.abc import Iterable

from ontology.analysis.paths.offers import Fact
from ontology.analysis.training.learners import CanDoAfter, TeamLearning
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_slots import find_able

__all__ = ["TrainingTally"]


class TrainingTally:
    """The plan so far and what is still missing.

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
        self._kinds_of: dict[str, list[int]] = {}
        can_do = CanDoAfter(team, {})
        for number, goal in enumerate(goals.counts):
            for person_id in goal.people:
                self._goals_of.setdefault(person_id, []).append(number)
        for number, kind in enumerate(goals.kinds):
            for person_id in kind.people if kind.facts is not None else ():
                self._kinds_of.setdefault(person_id, []).append(number)
        self._able = [sum(can_do(person, goal.facts) for person in goal.people) for goal in goals.counts]
        self._able_for = find_able(goals.kinds, can_do)
        self._missing_for_slots = goals.count_missing_slots(self._able_for)
        self.missing = goals.count_missing(can_do)

    @property
    def has_open_slots(self) -> bool:
        """Whether too few people are able for some set of slots."""
        return self._missing_for_slots > 0

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
        missing, changes, able = self._compare(person_id, operators)
        if able is not None:
            self._able_for = able
            self._missing_for_slots = self.goals.count_missing_slots(able)
        self.missing = missing
        for number, change in changes:
            self._able[number] += change
        self._reached[person_id] = self.team.learners[person_id].get_reached(operators)
        self.plan[person_id] = operators
        if not operators:
            del self.plan[person_id]

    def _compare(
        self, person_id: str, operators: frozenset[int]
    ) -> tuple[int, list[tuple[int, int]], list[tuple[str, ...]] | None]:
        """Return what would be missing, the goals that count one person more or fewer, and who could fill which slots.

        The last is None where it stays as it is.
        """
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
                count = self._able[number]
                missing += goal.weight * (max(0, goal.wanted - count - change) - max(0, goal.wanted - count))
        able = self._change_able(person_id, touched, after)
        if able is not None:
            missing += self.goals.count_missing_slots(able) - self._missing_for_slots
        return missing, changes, able

    def _change_able(
        self, person_id: str, touched: frozenset[Fact], after: frozenset[Fact]
    ) -> list[tuple[str, ...]] | None:
        """Return who could fill which slots once a person has reached some levels; None where nothing changes."""
        learner = self.team.learners[person_id]
        able: list[tuple[str, ...]] | None = None
        for number in self._kinds_of.get(person_id, ()):
            kind = self.goals.kinds[number]
            facts = kind.facts
            if facts is None or facts.isdisjoint(touched):
                continue
            is_able = learner.holds_after(facts, after)
            if is_able == (person_id in self._able_for[number]):
                continue
            able = list(self._able_for) if able is None else able
            able[number] = tuple(sorted({*able[number], person_id} if is_able else {*able[number]} - {person_id}))
        return able
