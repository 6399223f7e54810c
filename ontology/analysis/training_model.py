"""A cross-training plan as an integer program that grows by cuts. Pure; solves nothing itself.

May import linear models, relaxed problems, learners and goals. For each person one variable x for a course and f for
a level reached: a course needs its conditions' f, an f needs the x of one of its courses. That alone lets courses
support each other in a circle; landmark cuts (one of these courses, or the level is not reached) end this when it
happens, and cuts of Hall's kind make people able for every scarce set of slots. With all cuts it is exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ontology.analysis.catalogue import Fact
from ontology.analysis.learners import Learner, Plan, TeamLearning
from ontology.analysis.linear_model import INFINITY, LinearModel
from ontology.analysis.relaxed import get_closure
from ontology.analysis.training_goals import ScarceKinds, TrainingGoals

__all__ = ["Cap", "TrainingModel"]

Variable = tuple[str, str, tuple[int, ...]]
"""("x", person, (operator,)), ("f", person, (fact,)), ("y", person, facts), ("n", person, kinds), ("z", "", (goal,))
and ("z", "", ()) for places."""

Entries = list[tuple[int, float]]


@dataclass(frozen=True)
class Cap:
    """sum(value x variable) <= upper."""

    entries: tuple[tuple[int, float], ...]
    upper: int


@dataclass
class TrainingModel:
    """Variables and rows so far; `build` makes a model of them for one aim.

    Attributes
    ----------
    team, goals
        What it is about.
    variables : dict of Variable to index
    """

    team: TeamLearning
    goals: TrainingGoals
    variables: dict[Variable, int] = field(default_factory=dict)
    _upper: list[int] = field(default_factory=list)
    _rows: list[tuple[Entries, float]] = field(default_factory=list)
    _known_kinds: set[tuple[int, ...]] = field(default_factory=set)

    def __post_init__(self) -> None:
        for learner in self.team.learners.values():
            self._add_learner(learner)
        for number, goal in enumerate(self.goals.counts):
            missing = self._add_variable(("z", "", (number,)), goal.wanted)
            terms, sure = self._count_able(goal.people, goal.facts)
            self._add_row([*terms, (missing, 1)], goal.wanted - sure)
        if self.goals.kinds:
            slots = sum(kind.count for kind in self.goals.kinds)
            self._add_variable(("z", "", ()), slots + self.goals.tolerance)

    def _add_variable(self, variable: Variable, upper: int = 1) -> int:
        if variable not in self.variables:
            self.variables[variable] = len(self._upper)
            self._upper.append(upper)
        return self.variables[variable]

    def _add_row(self, entries: Entries, lower: float) -> None:
        """Add sum(value x variable) >= lower."""
        self._rows.append((entries, lower))

    def _add_learner(self, learner: Learner) -> None:
        problem = learner.problem
        taken = {o: self._add_variable(("x", learner.id, (o,))) for o in learner.courses}
        reachable = get_closure(problem, learner.courses)
        facts = {fact: self._add_variable(("f", learner.id, (fact,))) for fact in sorted(reachable)}
        for operator, x in taken.items():
            for fact in sorted(problem.conditions[operator]):
                self._add_row([(facts[fact], 1), (x, -1)], 0)
        for fact, f in facts.items():
            self._add_row([*((taken[o], 1.0) for o in problem.achievers[fact] if o in taken), (f, -1)], 0)
        if self.team.limit_minutes is not None:
            load = [(x, -float(learner.offers[o].minutes)) for o, x in taken.items() if learner.offers[o].minutes]
            if -sum(value for _, value in load) > self.team.limit_minutes:
                self._add_row(load, -self.team.limit_minutes)

    def _get_able(self, person_id: str, facts: frozenset[Fact]) -> int | bool:
        """Return the variable that says whether a person will have the levels; True or False where it is sure."""
        learner = self.team.learners[person_id]
        if not learner.is_reachable(facts):
            return False
        if any(not learner.is_held(fact) and fact not in learner.wanted for fact in facts):
            return False  # only a goal that is met already counts it
        numbers = learner.get_open_facts(facts)
        if not numbers:
            return True
        if len(numbers) == 1:
            return self.variables["f", person_id, (numbers[0],)]
        variable = ("y", person_id, tuple(numbers))
        if variable in self.variables:
            return self.variables[variable]
        able = self._add_variable(variable)
        for number in numbers:
            self._add_row([(self.variables["f", person_id, (number,)], 1), (able, -1)], 0)
        return able

    def _count_able(self, people: Iterable[str], facts: frozenset[Fact]) -> tuple[Entries, int]:
        entries: Entries = []
        sure = 0
        for person_id in people:
            able = self._get_able(person_id, facts)
            if able is True:
                sure += 1
            elif able is not False:
                entries.append((able, 1))
        return entries, sure

    def add_landmark_cuts(self, plan: Plan, vector: Sequence[float]) -> int:
        """Forbid levels that the vector claims and the plan does not reach; return how many cuts were added.

        The cut for a fact: the courses are extended to as many as still do not reach it; one of the others it takes.
        """
        count = 0
        for learner in self.team.learners.values():
            chosen = plan.get(learner.id, frozenset())
            reached = get_closure(learner.problem, chosen)
            for number in range(len(learner.facts)):
                index = self.variables.get(("f", learner.id, (number,)))
                if index is None or vector[index] < 0.5 or number in reached:
                    continue
                kept = set(chosen)
                for operator in learner.courses:
                    if operator not in kept and number not in get_closure(learner.problem, kept | {operator}):
                        kept.add(operator)
                others = [operator for operator in learner.courses if operator not in kept]
                row: Entries = [(self.variables["x", learner.id, (operator,)], 1) for operator in others]
                self._add_row([*row, (index, -1)], 0)
                count += 1
        return count

    def add_slot_cuts(self, scarce: Iterable[ScarceKinds]) -> int:
        """Ask for enough people for these sets of kinds; return how many were new."""
        count = 0
        for group in scarce:
            if group.kinds in self._known_kinds:
                continue
            self._known_kinds.add(group.kinds)
            count += 1
            kinds = [self.goals.kinds[number] for number in group.kinds]
            entries: Entries = []
            sure = 0
            for person_id in sorted({person for kind in kinds for person in kind.people}):
                ways = [
                    self._get_able(person_id, kind.facts)
                    for kind in kinds
                    if kind.facts is not None and person_id in kind.people
                ]
                open_ways = sorted({way for way in ways if not isinstance(way, bool)})
                if any(way is True for way in ways):
                    sure += 1
                elif open_ways:
                    able = self._add_variable(("n", person_id, group.kinds))
                    self._add_row([*((way, 1.0) for way in open_ways), (able, -1)], 0)
                    entries.append((able, 1))
            wanted = sum(kind.count for kind in kinds) + self.goals.tolerance
            self._add_row([*entries, (self.variables["z", "", ()], 1)], wanted - sure)
        return count

    def get_missing_costs(self) -> dict[int, int]:
        """Return variable -> weight of one missing person."""
        costs = {self.variables["z", "", (n,)]: goal.weight for n, goal in enumerate(self.goals.counts)}
        if self.goals.kinds:
            costs[self.variables["z", "", ()]] = self.goals.place_weight
        return costs

    def get_plan_costs(self) -> tuple[dict[int, int], dict[int, int], dict[int, int]]:
        """Return variable -> minutes of learner and coach, cents, and 1, for each course of each person."""
        minutes: dict[int, int] = {}
        cents: dict[int, int] = {}
        ones: dict[int, int] = {}
        for (kind, person_id, key), index in self.variables.items():
            if kind == "x":
                learner = self.team.learners[person_id]
                minutes[index] = learner.offers[key[0]].minutes + learner.coach_minutes[key[0]]
                cents[index] = learner.offers[key[0]].cents
                ones[index] = 1
        return minutes, cents, ones

    def build(self, costs: dict[int, int], caps: Iterable[Cap]) -> LinearModel:
        """Return the model that minimises the costs within the caps."""
        model = LinearModel()
        for index, upper in enumerate(self._upper):
            model.add_variable(costs.get(index, 0), upper=upper)
        for entries, lower in self._rows:
            model.add_row(entries, lower=lower)
        for cap in caps:
            model.add_row(cap.entries, upper=cap.upper, lower=-INFINITY)
        return model

    def get_plan(self, vector: Sequence[float]) -> dict[str, frozenset[int]]:
        """Return the courses a vector chooses."""
        chosen: dict[str, set[int]] = {}
        for (kind, person_id, key), index in self.variables.items():
            if kind == "x" and vector[index] > 0.5:
                chosen.setdefault(person_id, set()).add(key[0])
        return {person_id: frozenset(operators) for person_id, operators in chosen.items()}
