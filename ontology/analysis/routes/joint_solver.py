"""The cheapest courses for all moves of a sequence together, whatever the limits, part by part. Pure.

Many parts come back in many sequences and are solved once; where landmarks prove a plan, nothing is solved.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import Aim, Catalogue, Fact, Offer, Stage, StagedProblem, build_staged_problem
from ontology.analysis.paths.planner import Placement, Plan, PlanMemory, join_plans, solve_staged
from ontology.analysis.routes.level_facts import LevelFacts
from ontology.analysis.routes.route_landmarks import LandmarkBook
from ontology.analysis.routes.route_parts import Part, find_parts

__all__ = ["ROUTE_AIMS", "JointBound", "JointSolver"]

ROUTE_AIMS: Final[tuple[Aim, ...]] = ("hours", "cost", "courses")


class JointSolver:
    """Solves stages without limits, for one catalogue, and remembers the parts.

    Parameters
    ----------
    memory : PlanMemory
        Of the same catalogue.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        facts: LevelFacts,
        landmarks: LandmarkBook,
        deadline: Deadline,
        memory: PlanMemory,
    ) -> None:
        self._catalogue = catalogue
        self._facts = facts
        self._landmarks = landmarks
        self._deadline = deadline
        self._memory = memory

    def solve(self, stages: Sequence[Stage], aims: tuple[Aim, ...] = ("hours",)) -> Plan | None:
        """Return the cheapest placement whatever the limits on stages; None where a goal cannot be reached.

        With several aims ties are settled, and courses come as late as they can.
        """
        parts = self.find_parts(stages, is_merged=len(aims) == 1)
        return join_plans(self.solve_part(part, stages, aims) for part in parts)

    def find_parts(self, stages: Sequence[Stage], *, is_merged: bool) -> Iterator[Part]:
        """Return the parts of some stages."""
        held = [self._facts.get_held(stage.held) for stage in stages]
        return find_parts(self._facts, self._get_goals(stages), held, is_merged=is_merged)

    def bound_part(self, part: Part, stages: Sequence[Stage]) -> tuple[float, bool]:
        """Return a lower bound of a part, and whether it is known to be the least; from what is known already."""
        known = self._recall(part, 1)
        if known is None:
            is_known = self._find_cheapest(part) is not None
            return self._landmarks.bound(self._get_stages(part, stages)), is_known
        return (math.inf if known[0] is None else known[0].lower_bound), True

    def _recall(self, part: Part, aim_count: int) -> tuple[Plan | None] | None:
        # the best by hours first and the rest after is also the best by hours
        return self._memory.find(_get_key(part, aim_count), _get_key(part, len(ROUTE_AIMS)))

    def _get_goals(self, stages: Sequence[Stage]) -> list[int]:
        """Return the goals of each stage, without those that another goal of the same time or before implies."""
        highest: dict[str, int] = {}
        goals = []
        for stage in stages:
            due: dict[str, int] = {}
            for i, level in stage.goals:
                if level > max(stage.held.get(i, 0), highest.get(i, 0)):
                    due[i] = max(level, due.get(i, 0))
            highest |= due
            goals.append(sum(1 << self._facts.get_number(goal) for goal in due.items()))
        return goals

    def solve_part(self, part: Part, stages: Sequence[Stage], aims: tuple[Aim, ...] = ("hours",)) -> Plan | None:
        """Return the cheapest placement of a part; None where a goal cannot be reached."""
        plan = self._find_plan(part, stages, aims)
        return plan and replace(plan, order=tuple((offer, part.stages[k]) for offer, k in plan.order))

    def _find_plan(self, part: Part, stages: Sequence[Stage], aims: tuple[Aim, ...]) -> Plan | None:
        known = self._recall(part, len(aims))
        if known is not None:
            return known[0]
        cheapest = self._find_cheapest(part) if len(aims) == 1 else None
        if cheapest is not None:
            minutes = sum(offer.minutes for offer in cheapest)
            return Plan(tuple((offer, 0) for offer in cheapest), minutes, minutes, is_proved=True)
        own = self._get_stages(part, stages)
        staged = build_staged_problem(self._catalogue, own, aims=aims)
        plan = solve_staged(
            _drop_late(staged, own) if len(aims) == 1 else staged,
            time_limit_s=self._deadline.get_remaining_s(),
            settles_ties=len(aims) > 1,
        )
        self._memory.keep(_get_key(part, len(aims)), plan, self._deadline)
        return plan

    def _find_cheapest(self, part: Part) -> tuple[Offer, ...] | None:
        """Return the cheapest courses of a part where landmarks tell them."""
        return self._landmarks.find_cheapest(part.goals[0], part.open_facts[0]) if len(part.stages) == 1 else None

    def _get_stages(self, part: Part, stages: Sequence[Stage]) -> list[Stage]:
        return [Stage(stages[k].held, self._get_facts(due)) for k, due in zip(part.stages, part.goals, strict=True)]

    def arrange(self, stages: Sequence[Stage], placement: Placement) -> Placement:
        """Return a placement in the order in which it is told: part by part, each round by round, by id.

        A round holds what can be taken after the rounds before.
        """
        count = len(stages)

        def get_key(pair: tuple[Offer, int]) -> str:
            offer, k = pair
            return offer.id if count == 1 else f"{offer.id} {count - 1 - k:04d}"

        goals = 0
        for due in self._get_goals(stages):
            goals |= due
        groups = self._facts.split(goals, self._facts.get_held(stages[0].held))
        arranged: list[tuple[Offer, int]] = []
        for _, _, offers in sorted(groups, key=lambda group: group[1] & -group[1]):
            own = [pair for pair in placement if self._facts.has_offer(offers, pair[0].id)]
            own.sort(key=get_key)
            levels = [dict(stage.held) for stage in stages]
            while own:
                turn = [
                    pair for pair in own if all(levels[pair[1]].get(i, 0) >= level for i, level in pair[0].conditions)
                ]
                own = [pair for pair in own if pair not in turn]
                assert turn, "every course of a placement can be taken in its stage"
                for offer, k in turn:
                    for i, level in offer.effects:
                        for at in levels[k:]:
                            at[i] = max(level, at.get(i, 0))
                arranged.extend(turn)
        return tuple(arranged)

    def _get_facts(self, mask: int) -> frozenset[Fact]:
        return frozenset(self._facts.get_fact(number) for number in iterate_bits(mask))


def _get_key(part: Part, aim_count: int) -> Hashable:
    return part.goals, part.open_facts, aim_count


def _drop_late(staged: StagedProblem, stages: Sequence[Stage]) -> StagedProblem:
    """Return the problem without the operators that the same course one stage earlier can stand in for.

    Taken as soon as it can be, a course comes in a later stage only where one of its conditions does: by time in the
    role before, or by a course that itself comes in that stage. The least cost is the same.
    """
    count = len(stages)
    if count == 1:
        return staged
    late: set[tuple[str, int, int]] = set()  # levels that may be there at a stage though not at the one before
    kept: set[int] = set()
    waiting = [n for n, (_, k) in enumerate(staged.operators) if k]
    is_growing = True
    while is_growing:
        is_growing, still = False, []
        for n in waiting:
            offer, k = staged.operators[n]
            now, before = stages[k].held, stages[k - 1].held
            if any(
                (i, level, k) in late if level > now.get(i, 0) else level > before.get(i, 0)
                for i, level in offer.conditions
            ):
                late.update((i, level, k) for i, reached in offer.effects for level in range(1, reached + 1))
                kept.add(n)
                is_growing = True
            else:
                still.append(n)
        waiting = still
    problem = staged.problem
    places = [n for n, (_, k) in enumerate(staged.operators) if not k or n in kept]
    return replace(
        staged,
        problem=replace(
            problem,
            operator_ids=tuple(problem.operator_ids[n] for n in places),
            conditions=tuple(problem.conditions[n] for n in places),
            effects=tuple(problem.effects[n] for n in places),
            aims=tuple(tuple(aim[n] for n in places) for aim in problem.aims),
        ),
        operators=tuple(staged.operators[n] for n in places),
    )


class JointBound:
    """The least minutes of some stages without limits, from below: landmarks first, then exactly, part by part.

    Attributes
    ----------
    lower : float
        Infinite where a goal cannot be reached.
    value : int
        The least minutes, once `is_done`.
    placement : list of (offer, stage)
        What costs them.
    """

    def __init__(self, solver: JointSolver, stages: Sequence[Stage]) -> None:
        self.lower = 0.0
        self.value = 0
        self.placement: list[tuple[Offer, int]] = []
        self._solver = solver
        self._stages = stages
        waiting: list[tuple[bool, float, Part]] = []
        for part in solver.find_parts(stages, is_merged=True):
            minutes, is_known = solver.bound_part(part, stages)
            self.lower += minutes
            waiting.append((not is_known, minutes, part))
        # what is known comes first, then what may be far from its bound
        self._waiting = sorted(waiting, key=lambda row: (row[0], -row[1], row[2].goals), reverse=True)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to solve."""
        return not self._waiting or self.lower == math.inf

    def advance(self) -> None:
        """Solve one part more, and all that are known."""
        is_new = False
        while self._waiting and not is_new:
            is_new, minutes, part = self._waiting.pop()
            plan = self._solver.solve_part(part, self._stages)
            if plan is None:
                self.lower = math.inf
                return
            assert plan.value is not None, "only limits on stages leave the engine without a plan"
            self.lower += max(0.0, plan.lower_bound - minutes)
            self.value += plan.value
            self.placement += plan.order
