"""Each member of a team as a learner: what courses can do for them, as a delete-free problem of their own. Pure.

May import levels, catalogue, relaxed problems, presence and the goals of a plan.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from ontology.analysis.cover.presence import Presence, find_absent_days
from ontology.analysis.engine.relaxed import (
    RelaxedProblem,
    find_applicable_order,
    find_closure,
    find_relevant_operators,
    remove_redundant,
)
from ontology.analysis.paths.catalogue import (
    Catalogue,
    Fact,
    Offer,
    Stage,
    build_catalogue,
    build_staged_problem,
    get_minutes,
    reach_levels,
)
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.training.learner_days import CourseLength, can_be_done_in_time
from ontology.analysis.training.training_goals import TrainingGoals
from ontology.analysis.training.training_rules import LearnerRules, TrainingAsked, build_learner_rules
from ontology.analysis.training.training_slots import find_able

__all__ = ["Learner", "Plan", "TeamLearning", "build_team_learning"]

Plan = Mapping[str, frozenset[int]]
"""The courses each person takes: person id -> operators of that person's problem."""


@dataclass(frozen=True)
class Learner:
    """A person, the courses that can matter for the goals, and what they lead to.

    Attributes
    ----------
    id : str
    profile : Profile
    catalogue : Catalogue
    wanted : frozenset of Fact
        Levels above the profile that some goal would count.
    facts : tuple of Fact
        What the facts of `problem` mean.
    offers : tuple of Offer
        What its operators mean, by course id.
    problem : RelaxedProblem
        Goals: what of `wanted` can be reached.
    coach_minutes : tuple of int
        For each operator.
    is_uncoached : tuple of bool
        For each operator whether it has coach hours and nobody could coach one of its outcomes.
    lengths : tuple of CourseLength
        For each operator, how long it takes, how long before it can begin, and by when it must be done.
    absences : tuple of (first, last)
        Recorded absences, in days from the day asked about.
    is_excluded : bool
        Whether the person is not to learn.
    """

    id: str
    profile: Profile
    catalogue: Catalogue
    wanted: frozenset[Fact]
    facts: tuple[Fact, ...]
    offers: tuple[Offer, ...]
    problem: RelaxedProblem
    coach_minutes: tuple[int, ...]
    is_uncoached: tuple[bool, ...]
    lengths: tuple[CourseLength, ...]
    absences: tuple[tuple[int, int], ...]
    is_excluded: bool

    @cached_property
    def reachable_levels(self) -> dict[str, int]:
        """The highest levels that all courses together reach."""
        return reach_levels(self.catalogue, self.profile.levels)

    @cached_property
    def numbers(self) -> dict[Fact, int]:
        """Fact -> its number in `problem`."""
        return {fact: number for number, fact in enumerate(self.facts)}

    @cached_property
    def courses(self) -> tuple[int, ...]:
        """Operators that can be taken and can matter."""
        return tuple(find_relevant_operators(self.problem))

    def is_held(self, fact: Fact) -> bool:
        """Whether the person has the level already."""
        return self.profile.get(fact[0]) >= fact[1]

    def is_reachable(self, facts: Iterable[Fact]) -> bool:
        """Whether the person has or can reach all of these levels."""
        return all(self.reachable_levels.get(competency, 0) >= level for competency, level in facts)

    def holds_after(self, facts: Iterable[Fact], reached: Collection[Fact]) -> bool:
        """Whether the person has all of these levels once they have reached some."""
        return all(fact in reached or self.is_held(fact) for fact in facts)

    def get_open_facts(self, facts: Iterable[Fact]) -> list[int]:
        """Return the numbers of those facts that are not held, sorted."""
        return sorted(self.numbers[fact] for fact in facts if not self.is_held(fact))

    def get_reached(self, operators: Iterable[int]) -> frozenset[Fact]:
        """Return the open facts that some courses lead to."""
        return frozenset(self.facts[number] for number in find_closure(self.problem, operators))

    def get_order(self, operators: Iterable[int]) -> list[str]:
        """Return course ids in an order in which every entry condition is met."""
        return [self.offers[operator].id for operator in find_applicable_order(self.problem, operators)]

    def get_courses_for(self, fact: Fact, operators: Iterable[int]) -> list[str]:
        """Return the ids of those of the courses that serve a level, in order."""
        problem = self.problem
        alone = RelaxedProblem(
            problem.fact_count,
            problem.operator_ids,
            problem.conditions,
            problem.effects,
            problem.aims,
            problem.initial,
            frozenset({self.numbers[fact]}),
        )
        return self.get_order(remove_redundant(alone, operators))


@dataclass(frozen=True)
class TeamLearning:
    """The learners by id, and the most own minutes of those who have a limit."""

    learners: Mapping[str, Learner]
    limits: Mapping[str, int]

    def limit_all(self, minutes: int) -> TeamLearning:
        """Return the same team with nobody above so many minutes."""
        return TeamLearning(self.learners, {i: min(minutes, self.limits.get(i, minutes)) for i in self.learners})

    def is_within_limits(self, plan: Plan) -> bool:
        """Whether nobody's own minutes are above the limit, and everybody's courses end in time."""
        return all(
            self.get_minutes(i, operators) <= self.limits.get(i, math.inf) and self.is_in_time(i, operators)
            for i, operators in plan.items()
        )

    def is_in_time(self, person_id: str, operators: frozenset[int]) -> bool:
        """Whether a person's courses, one after the other, are each done by their last day."""
        learner = self.learners[person_id]
        has_end = any(learner.lengths[operator].last_day is not None for operator in operators)
        return not has_end or can_be_done_in_time(learner, operators)

    def get_minutes(self, person_id: str, operators: Iterable[int]) -> int:
        """Return the learner's own minutes."""
        offers = self.learners[person_id].offers
        return sum(offers[operator].minutes for operator in operators)

    def get_aims(self, plan: Plan) -> tuple[int, int, int, int]:
        """Return minutes of learners and coaches, courses that nobody could coach, cents, and number of courses."""
        minutes = uncoached = cents = count = 0
        for person_id, operators in plan.items():
            learner = self.learners[person_id]
            for operator in operators:
                minutes += learner.offers[operator].minutes + learner.coach_minutes[operator]
                uncoached += learner.is_uncoached[operator]
                cents += learner.offers[operator].cents
                count += 1
        return minutes, uncoached, cents, count


class CanDoAfter:
    """Who holds which levels after a plan; a function of person and facts."""

    def __init__(self, team: TeamLearning, plan: Plan) -> None:
        self._team = team
        self._reached = {
            person_id: team.learners[person_id].get_reached(operators) for person_id, operators in plan.items()
        }

    def __call__(self, person_id: str, facts: frozenset[Fact]) -> bool:
        """Whether the person has all of these levels."""
        return self._team.learners[person_id].holds_after(facts, self._reached.get(person_id, frozenset()))


def build_team_learning(presence: Presence, goals: TrainingGoals, rules: LearnerRules | None = None) -> TeamLearning:
    """Return every person whom some goal could count, as a learner.

    Only goals that are still open make a level wanted; goals of places are open as a whole.

    Notes
    -----
    O(members x size of the courses).
    """
    rules = build_learner_rules(presence, TrainingAsked()) if rules is None else rules
    wanted: dict[str, set[Fact]] = {}
    held = {person.id: build_profile(presence.snapshot, person.id, presence.on) for person in presence.members}

    def can_do(person_id: str, facts: frozenset[Fact]) -> bool:
        return all(held[person_id].get(competency) >= level for competency, level in facts)

    for goal in goals.counts:
        is_open = goal.count_missing(can_do) > 0
        for person_id in goal.people:
            facts = wanted.setdefault(person_id, set())
            if is_open:
                facts |= goal.facts
    is_scarce = goals.count_missing_slots(find_able(goals.kinds, can_do)) > 0
    for kind in goals.kinds:
        for person_id in kind.people:
            facts = wanted.setdefault(person_id, set())
            if is_scarce and kind.facts is not None:
                facts |= kind.facts
    learners = {
        person_id: _build_learner(rules, held[person_id], frozenset(facts))
        for person_id, facts in sorted(wanted.items())
    }
    limits = {person_id: limit for person_id in learners if (limit := rules.get_limit(person_id)) is not None}
    return TeamLearning(learners, limits)


def _build_learner(rules: LearnerRules, profile: Profile, facts: frozenset[Fact]) -> Learner:
    snapshot = rules.presence.snapshot
    person_id = profile.held_by
    catalogue = rules.restrict(person_id, build_catalogue(snapshot, profile), dict(profile.levels))
    wanted = frozenset((competency, level) for competency, level in facts if level > profile.get(competency))
    staged = build_staged_problem(catalogue, [Stage(profile.levels, wanted)])
    offers = tuple(offer for offer, _ in staged.operators)
    courses = [snapshot.courses[offer.id] for offer in offers]
    return Learner(
        id=person_id,
        profile=profile,
        catalogue=catalogue,
        wanted=wanted,
        facts=tuple((competency, level) for competency, level, _ in staged.facts),
        offers=offers,
        problem=staged.problem,
        coach_minutes=tuple(get_minutes(course.coach_hours) for course in courses),
        is_uncoached=tuple(not rules.is_coached(person_id, offer) for offer in offers),
        lengths=tuple(rules.get_length(person_id, offer, profile.levels) for offer in offers),
        absences=find_absent_days(snapshot, person_id, rules.presence.on),
        is_excluded=person_id in rules.asked.exclude_people,
    )
