"""The best cross-training plan so far, the problem it is looked for in, and its aims as costs and rows. Pure.

May import the parts of the plan; searches nothing itself. Aims in order: missing people, the largest load of one
learner (when asked), minutes of learners and coaches, courses that nobody could coach, cents, number of courses.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from ontology.analysis.training.learners import CanDoAfter, Plan, TeamLearning
from ontology.analysis.training.training_goals import ScarceKinds, TrainingGoals
from ontology.analysis.training.training_greedy import build_greedy_plan, remove_useless
from ontology.analysis.training.training_master import add_broken_cuts
from ontology.analysis.training.training_pool import CutPool
from ontology.analysis.training.training_rows import Row, TeamRows
from ontology.analysis.training.training_slots import find_able
from ontology.analysis.training.training_task import TeamTask, build_team_task

__all__ = ["CENTS", "COURSES", "LOAD", "MINUTES", "MISSING", "UNCOACHED", "TrainingState", "Value"]

MISSING: Final = 0
LOAD: Final = 1
MINUTES: Final = 2
UNCOACHED: Final = 3
CENTS: Final = 4
COURSES: Final = 5
Value = tuple[int, ...]
"""What a plan comes to in each aim, in order."""


class TrainingState:
    """What a search knows.

    Attributes
    ----------
    plan : dict of person to courses
        The best so far; `value` is what it comes to.
    task, rows, pool
        The problem that holds what is looked for; `whole_task` holds every plan. There once it is prepared.
    allowed : list of int
        Operators of `task` that may still matter.
    """

    def __init__(self, team: TeamLearning, goals: TrainingGoals, *, is_fair: bool) -> None:
        self.team = team
        self.goals = goals
        self.is_fair = is_fair
        self.plan: dict[str, frozenset[int]] = {}
        self.value: Value = self.get_value({})
        self.take(build_greedy_plan(team, goals))

    def prepare(self) -> None:
        """Build the problem; before that there is a first plan only."""
        self.whole_task = build_team_task(self.team, self.goals)
        self.rows = TeamRows(self.whole_task)
        self.work_on(self.whole_task)

    def work_on(self, task: TeamTask) -> None:
        """Take up a problem that holds what is looked for, with the rows known so far."""
        groups, late = self.rows.groups, self.rows.late
        self.task = task
        self.rows = TeamRows(task)
        self.rows.add_scarce(groups)
        self.rows.add_late(late)
        self.pool = CutPool(self.rows)
        self.allowed = list(range(task.operator_count))

    def get_value(self, plan: Plan) -> Value:
        missing = self.goals.count_missing(CanDoAfter(self.team, plan))
        load = max((self.team.get_minutes(p, operators) for p, operators in plan.items()), default=0)
        return missing, load if self.is_fair else 0, *self.team.get_aims(plan)

    def take(self, plan: dict[str, frozenset[int]]) -> None:
        """Keep the plan, without useless courses, where it is better than the best so far."""
        for choice in (remove_useless(self.team, self.goals, plan), plan):
            value = self.get_value(choice)
            if value < self.value and self.team.is_within_limits(choice):
                self.plan, self.value = choice, value
                return

    def get_costs(self, aim: int) -> list[int]:
        """Return what each variable costs in an aim."""
        count = self.task.operator_count
        if aim == MISSING:
            return [0] * count + [self.rows.missing_weights.get(v, 0) for v in self.rows.uppers]
        costs = self.task.get_costs(aim - MINUTES)
        return costs + [0] * len(self.rows.uppers)

    def get_caps(self, aims: Iterable[int], value: Sequence[int]) -> list[Row]:
        """Return the rows that keep aims as good as a value."""
        rows: list[Row] = []
        for aim in aims:
            if aim == LOAD:
                rows += self.rows.build_load_rows(self.team.limit_all(value[LOAD]).limits) if self.is_fair else []
            else:
                entries = tuple((v, cost) for v, cost in enumerate(self.get_costs(aim)) if cost)
                rows.append(Row(entries, upper=value[aim]))
        return rows

    def find_start(self) -> list[int]:
        """Return the operators of the best plan so far, with the markers it reaches."""
        start = []
        for part in self.task.parts:
            courses = self.plan.get(part.person_id, frozenset())
            own = [n for n, course in enumerate(part.course_of) if course in courses]
            # markers lead on: with a slot to fill there is the level that all of these give
            reached = part.task.get_reached([*own, *part.markers])
            start += [part.first + n for n in (*own, *(n for n in part.markers if not part.task.needs[n] & ~reached))]
        return start

    def look(self, x: dict[int, float], kept: Sequence[int], value: int) -> int:
        """Take the plan that a vector comes near, and ask for sets of slots scarce in it; return the best value."""
        plan = self.task.get_plan(o for o, share in x.items() if share > 0.5)
        self.take(plan)
        self.add_late(plan)
        self.rows.add_scarce(self.find_scarce(plan))
        return self.value[len(kept)] if self.value[: len(kept)] == kept else value

    def add_late(self, plan: Plan) -> int:
        """Forbid what of a plan ends too late; return how many choices were new."""
        return self.rows.add_late(item for item in plan.items() if not self.team.is_in_time(*item))

    def find_broken(self, values: Mapping[int, float]) -> int:
        """Take what a whole choice comes to, and add what it breaks; return how many rows."""
        plan = self.task.get_plan(v for v, value in values.items() if value > 0.5)
        self.take(plan)
        count = add_broken_cuts(self.pool, values) + self.add_late(plan)
        granted = self.rows.get_granted(values)
        return count + self.rows.add_scarce(group for group in self.find_scarce(plan) if group.missing > granted + 0.5)

    def find_scarce(self, plan: Plan) -> list[ScarceKinds]:
        """Return sets of slots with too few people to spare after a plan, where a tolerance is wished."""
        if self.goals.tolerance is None:
            return []
        return self.goals.find_scarce_kinds(find_able(self.goals.kinds, CanDoAfter(self.team, plan)))
