"""Study minutes of a fixed sequence of moves: cheap bounds first, the exact joint placement where they differ. Pure.

Lower bound: each move alone, with all growth before it and no limits. Upper bound: move after move, each prepared for
itself. Where both agree no placement problem is solved.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.catalogue import (
    Fact,
    Offer,
    Stage,
    StagedProblem,
    build_staged_problem,
    get_whole_minutes,
    reach_levels,
)
from ontology.analysis.levels import Profile
from ontology.analysis.moves import MoveCosts, grow
from ontology.analysis.planner import Plan, solve_staged
from ontology.analysis.route_packing import Placement, pack, split_problem
from ontology.analysis.solver import Deadline
from ontology.graph.snapshot import Snapshot

__all__ = ["Interval", "Placement", "RouteCosts", "Sequenced"]

Sequenced = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Interval:
    """What is known of the least minutes of a sequence: between `lower` and `upper`, infinite = not legal.

    `placement` is a witness of `upper`: offers with their stage, in an applicable order.
    """

    lower: float
    upper: float
    placement: Placement = ()

    @property
    def is_exact(self) -> bool:
        """Whether the least minutes are known (or that there is no legal placement)."""
        return self.lower == self.upper


_ILLEGAL = Interval(math.inf, math.inf)


class RouteCosts:
    """Least minutes of sequences of moves from one profile under one pair of limits; each is worked out once."""

    def __init__(
        self,
        snapshot: Snapshot,
        profile: Profile,
        *,
        preparation_limit: float,
        level_limit: int,
        deadline: Deadline,
    ) -> None:
        self.snapshot = snapshot
        self.profile = profile
        self.deadline = deadline
        self.limit_minutes = get_whole_minutes(preparation_limit)
        self.moves = MoveCosts(snapshot, profile, deadline)
        self._level_limit = level_limit
        self._held: dict[frozenset[str], dict[str, int]] = {frozenset(): dict(profile.levels)}
        self._reached: dict[frozenset[str], dict[str, int]] = {}
        self._gates: dict[str, tuple[Fact, ...]] = {}
        self._bounds: dict[Sequenced, Interval] = {}
        self._values: dict[Sequenced, Interval] = {}
        self._parts: dict[Hashable, Plan | None] = {}

    def get_held(self, roles: Sequence[str]) -> dict[str, int]:
        """Return the levels of the profile after its time in these roles, without courses."""
        key = frozenset(roles)
        if key not in self._held:
            self._held[key] = grow(self.snapshot, self.get_held(roles[:-1]), roles[-1])
        return self._held[key]

    def get_reached(self, roles: Sequence[str]) -> dict[str, int]:
        """Return the levels that time in these roles and then all courses reach."""
        key = frozenset(roles)
        if key not in self._reached:
            self._reached[key] = reach_levels(self.moves.catalogue, self.get_held(roles))
        return self._reached[key]

    def get_gates(self, role_id: str) -> tuple[Fact, ...]:
        """Return the levels that must be there when the preparation for a role starts."""
        if role_id not in self._gates:
            self._gates[role_id] = tuple(
                (i, entry - self._level_limit)
                for i, entry in self.moves.get_entry_levels(role_id).items()
                if entry > self._level_limit and not self.snapshot.competencies[i].is_certificate
            )
        return self._gates[role_id]

    def build_stages(self, sequence: Sequenced) -> list[Stage] | None:
        """Return the stages of a sequence; None where the first move breaks the level limit.

        What the level limit asks at the start of a later stage, and growth does not bring, is a goal of the stage
        before it.
        """
        if not _holds(self.get_held(()), self.get_gates(sequence[0])):
            return None
        stages = []
        for k, role_id in enumerate(sequence):
            held = self.get_held(sequence[:k])
            goals = set(self.moves.get_entry_levels(role_id).items())
            if k + 1 < len(sequence):
                later = self.get_held(sequence[: k + 1])
                goals.update((i, level) for i, level in self.get_gates(sequence[k + 1]) if level > later.get(i, 0))
            stages.append(Stage(held, frozenset((i, level) for i, level in goals if level > held.get(i, 0))))
        return stages

    def get_bounds(self, sequence: Sequenced) -> Interval:
        """Return a quick interval that holds the least minutes of a sequence."""
        if sequence not in self._bounds:
            self._bounds[sequence] = self._bound(sequence)
        return self._bounds[sequence]

    def _bound(self, sequence: Sequenced) -> Interval:
        lower: float = 0
        if len(sequence) > 1:
            # what is legal for the whole is legal for its beginning, and costs no less
            lower = self.get_bounds(sequence[:-1]).lower
            if lower == math.inf:
                return _ILLEGAL
        stages = self.build_stages(sequence)
        if stages is None:
            return _ILLEGAL
        for k in range(max(0, len(stages) - 2), len(stages)):
            if not _holds(self.get_reached(sequence[:k]), stages[k].goals):
                return _ILLEGAL
        plan = self.moves.get_plan(stages[-1].held, sequence[-1])
        if plan is None:
            return _ILLEGAL
        lower = max(lower, plan.lower_bound)
        if self.limit_minutes is not None and lower > self.limit_minutes * len(sequence):
            return _ILLEGAL
        placement = self._place_one_by_one(sequence)
        if placement is None:
            return Interval(lower, math.inf)
        return Interval(lower, sum(offer.minutes for offer, _ in placement), placement)

    def _place_one_by_one(self, sequence: Sequenced) -> Placement | None:
        """Return the placement that prepares each move for itself; None where that breaks a limit."""
        levels: Mapping[str, int] = self.profile.levels
        placement: list[tuple[Offer, int]] = []
        for k, role_id in enumerate(sequence):
            if not _holds(levels, self.get_gates(role_id)):
                return None
            plan = self.moves.get_plan(levels, role_id)
            if plan is None or plan.value is None:
                return None
            if self.limit_minutes is not None and plan.value > self.limit_minutes:
                return None
            after = dict(levels)
            for offer, _ in plan.order:
                placement.append((offer, k))
                for i, level in offer.effects:
                    after[i] = max(level, after.get(i, 0))
            levels = grow(self.snapshot, after, role_id)
        return tuple(placement)

    def get_value(self, sequence: Sequenced) -> Interval:
        """Return the least minutes of a sequence over all placements: exact unless the deadline has struck."""
        if sequence not in self._values:
            self._values[sequence] = self._evaluate(sequence)
        return self._values[sequence]

    def get_known(self, sequence: Sequenced) -> Interval:
        """Return the value of a sequence where it has been worked out, otherwise its bounds."""
        return self._values.get(sequence) or self.get_bounds(sequence)

    def _evaluate(self, sequence: Sequenced) -> Interval:
        bounds = self.get_bounds(sequence)
        if bounds.is_exact or self.deadline.is_over():
            return bounds
        stages = self.build_stages(sequence)
        assert stages is not None
        staged = build_staged_problem(self.moves.catalogue, stages, stage_limit_minutes=self.limit_minutes)
        joint = self._relax(staged, stages)
        if joint.is_exact:
            return joint
        plan = solve_staged(staged, time_limit_s=self.deadline.get_remaining_s(), settles_ties=False)
        if plan is None:
            return _ILLEGAL
        lower = max(bounds.lower, joint.lower, plan.lower_bound)
        known = min((bounds, joint), key=lambda interval: interval.upper)
        if plan.value is None or plan.value > known.upper:
            return Interval(min(lower, known.upper), known.upper, known.placement)
        return Interval(min(lower, plan.value), plan.value, plan.order)

    def _relax(self, staged: StagedProblem, stages: Sequence[Stage]) -> Interval:
        """Return what the problem without the preparation limit, solved part by part, tells about it."""
        lower, total = 0, 0
        placement: list[tuple[Offer, int]] = []
        for part in split_problem(staged):
            plan = self._solve_part(part)
            if plan is None:
                return _ILLEGAL
            lower += plan.lower_bound
            total += plan.value or 0
            placement.extend(plan.order)
        limit = self.limit_minutes
        if limit is None:
            return Interval(lower, total, tuple(placement))
        if lower > limit * len(stages):
            return _ILLEGAL
        if _keeps_limit(placement, limit):
            return Interval(lower, total, tuple(placement))
        packed = pack(stages, [offer for offer, _ in placement], limit)
        return Interval(lower, math.inf) if packed is None else Interval(lower, total, packed)

    def _solve_part(self, part: StagedProblem) -> Plan | None:
        # conditions and effects follow from the facts and the catalogue
        key = (part.facts, part.problem.operator_ids, part.problem.goals, len(part.problem.aims))
        if key not in self._parts:
            self._parts[key] = solve_staged(
                part, time_limit_s=self.deadline.get_remaining_s(), settles_ties=len(part.problem.aims) > 1
            )
        return self._parts[key]

    def refine(self, sequence: Sequenced) -> Placement:
        """Return the placement of a legal sequence: least hours, then cost, then courses, then each course as late.

        The witness of `get_value` where the deadline strikes first.
        """
        value = self.get_value(sequence)
        if not value.is_exact or self.deadline.is_over():
            return value.placement
        stages = self.build_stages(sequence)
        assert stages is not None
        staged = build_staged_problem(
            self.moves.catalogue,
            stages,
            aims=("hours", "cost", "courses"),
            stage_limit_minutes=self.limit_minutes,
        )
        if self.limit_minutes is None or value.upper <= self.limit_minutes:
            # no stage can break the limit, so the optima of the parts, ties and all, are that of the whole
            plans = [self._solve_part(part) for part in split_problem(staged)]
            if all(plan and plan.is_proved for plan in plans):
                return tuple(pair for plan in plans if plan for pair in plan.order)
        plan = solve_staged(staged, time_limit_s=self.deadline.get_remaining_s())
        return value.placement if plan is None or plan.value is None or plan.value > value.upper else plan.order


def _holds(levels: Mapping[str, int], facts: Sequence[Fact] | frozenset[Fact]) -> bool:
    return all(level <= levels.get(i, 0) for i, level in facts)


def _keeps_limit(placement: Iterable[tuple[Offer, int]], limit_minutes: int) -> bool:
    spent: Counter[int] = Counter()
    for offer, k in placement:
        spent[k] += offer.minutes
    return all(minutes <= limit_minutes for minutes in spent.values())
