"""The best cross-training plan, proved where time allows: aims in order, each fixed before the next. Pure.

May import the solver door and the parts of the plan. Missing people, minutes of learners and coaches, cents, number
of courses, then ids. A relaxed optimum that holds as a plan is the optimum; where it does not, it gives cuts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.analysis.learners import CanDoAfter, Plan, TeamLearning
from ontology.analysis.solver import Deadline, solve_mixed
from ontology.analysis.training_goals import TrainingGoals
from ontology.analysis.training_greedy import build_greedy_plan, remove_useless
from ontology.analysis.training_model import Cap, TrainingModel
from ontology.errors import SolverError

__all__ = ["TrainingAnswer", "find_best_training"]

_ID_BATCH: Final = 20
_ID_LIMIT: Final = 400
"""Above this many (person, course) pairs the ids are not settled to the last, only always the same."""

Value = tuple[int, int, int, int]


@dataclass(frozen=True)
class TrainingAnswer:
    """A plan and how good it is.

    `missing` people are weighted, and none of all plans misses fewer than `missing_bound`; with so few missing none
    takes fewer minutes than `minutes_bound`. `is_proved`: both are reached.
    """

    plan: dict[str, frozenset[int]]
    missing: int
    missing_bound: int
    minutes_bound: int
    is_proved: bool


class _Search:
    def __init__(self, team: TeamLearning, goals: TrainingGoals, deadline: Deadline) -> None:
        self.team = team
        self.goals = goals
        self.deadline = deadline
        self.model = TrainingModel(team, goals)
        self.plan: dict[str, frozenset[int]] = {}
        self.value = self.get_value({})
        self.take(build_greedy_plan(team, goals))

    def get_value(self, plan: Plan) -> Value:
        missing = self.goals.count_missing(CanDoAfter(self.team, plan))
        return missing, *self.team.get_aims(plan)

    def take(self, plan: dict[str, frozenset[int]]) -> None:
        """Keep the plan, without useless courses, where it is better than the best so far."""
        plan = remove_useless(self.team, self.goals, plan)
        value = self.get_value(plan)
        if value < self.value:
            self.plan, self.value = plan, value

    def get_costs(self) -> list[dict[int, int]]:
        return [self.model.get_missing_costs(), *self.model.get_plan_costs()]

    def get_caps(self, count: int) -> list[Cap]:
        """Return the rows that keep the first `count` aims as good as they are now."""
        costs = self.get_costs()[:count]
        return [Cap(tuple(aim.items()), value) for aim, value in zip(costs, self.value[:count], strict=True)]

    def find_cuts(self, vector: tuple[float, ...], plan: Plan) -> int:
        """Add what the vector breaks; return how many rows."""
        count = self.model.add_landmark_cuts(plan, vector)
        if self.goals.kinds:
            granted = vector[self.model.variables["z", "", ()]]
            scarce = self.goals.find_scarce_kinds(CanDoAfter(self.team, plan))
            count += self.model.add_slot_cuts(group for group in scarce if group.missing > granted + 0.5)
        return count

    def minimise(self, aim: int, bound: int) -> tuple[int, bool]:
        """Improve the best plan in one aim, the ones before being kept; return the bound and whether it is met."""
        while self.value[aim] > bound:
            model = self.model.build(self.get_costs()[aim], self.get_caps(aim))
            if self.deadline.is_over():
                return bound, False
            # No start is given: with one, and its presolve, the solver has named objectives its vector does not have.
            solution = solve_mixed(model, time_limit_s=self.deadline.get_remaining_s())
            if solution.status == "infeasible":
                raise SolverError("the solver finds no plan where there is one")
            if solution.lower_bound > bound:
                bound = round(min(solution.lower_bound, self.value[aim]))
            if not solution.x:
                return bound, False
            plan = self.model.get_plan(solution.x)
            self.take(plan)
            if self.value[aim] > bound and not self.find_cuts(solution.x, plan):
                return bound, False
        return bound, True

    def settle_ids(self) -> None:
        """Make the sorted (person, course) pairs the smallest possible, all aims being kept."""
        pairs = sorted(
            (person_id, key[0], index) for (kind, person_id, key), index in self.model.variables.items() if kind == "x"
        )
        if len(pairs) > _ID_LIMIT:
            return
        fixed: list[Cap] = []
        left = self.value[3]
        for begin in range(0, len(pairs), _ID_BATCH):
            batch = pairs[begin : begin + _ID_BATCH]
            if not left or not self._settle_batch([index for _, _, index in batch], fixed):
                return
            for person_id, operator, index in batch:
                is_chosen = operator in self.plan.get(person_id, ())
                left -= is_chosen
                fixed.append(Cap(((index, -1 if is_chosen else 1),), -1 if is_chosen else 0))

    def _settle_batch(self, indices: list[int], fixed: list[Cap]) -> bool:
        costs = {index: -(1 << (len(indices) - 1 - n)) for n, index in enumerate(indices)}
        while not self.deadline.is_over():
            model = self.model.build(costs, [*self.get_caps(4), *fixed])
            solution = solve_mixed(model, time_limit_s=self.deadline.get_remaining_s())
            if solution.status != "optimal":
                return False
            plan = self.model.get_plan(solution.x)
            if not self.find_cuts(solution.x, plan):
                self.plan = plan
                return True
        return False


def find_best_training(team: TeamLearning, goals: TrainingGoals, deadline: Deadline) -> TrainingAnswer:
    """Return the plan with the fewest missing people, then minutes, cents, courses, then smallest ids.

    Parameters
    ----------
    team : TeamLearning
    goals : TrainingGoals
    deadline : Deadline
        When it is over the best plan so far is returned.

    Returns
    -------
    TrainingAnswer

    Notes
    -----
    NP-hard (one person's part alone is minimum-cost delete-free planning). One integer program for each aim, solved
    again as long as it needs cuts.
    """
    search = _Search(team, goals, deadline)
    everything = {person_id: frozenset(learner.courses) for person_id, learner in team.learners.items()}
    missing_bound, is_least = search.minimise(0, goals.count_missing(CanDoAfter(team, everything)))
    minutes_bound, is_cheapest = search.minimise(1, 0)
    is_proved = is_least and is_cheapest
    if is_proved and search.minimise(2, 0)[1] and search.minimise(3, 0)[1]:
        search.settle_ids()
    return TrainingAnswer(search.plan, search.value[0], missing_bound, minutes_bound, is_proved)
