"""Study minutes of a fixed sequence of moves: cheap bounds first, the exact joint placement where they differ. Pure.

Lower bound: each move alone, with all growth before it and no limits. Upper bound: move after move, each prepared for
itself. Where both agree no placement problem is solved.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.catalogue import (
    Fact,
    Offer,
    Stage,
    StagedProblem,
    build_staged_problem,
    get_whole_minutes,
    reach_levels,
    take_offers,
)
from ontology.analysis.levels import Profile
from ontology.analysis.moves import MoveCosts, grow
from ontology.analysis.planner import Placement, solve_staged
from ontology.analysis.route_packing import pack
from ontology.analysis.solver import Deadline
from ontology.graph.snapshot import Snapshot

__all__ = ["Interval", "RouteCosts", "Sequenced"]

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
        self._relevant: dict[str, tuple[Offer, ...]] = {}
        self._freed: dict[tuple[frozenset[str], frozenset[str]], dict[str, int]] = {}

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
        lower = max(lower, self._add_up(sequence, range(len(sequence))))
        if len(sequence) > 1:
            lower = max(lower, self._add_up(sequence, range(len(sequence) - 1, -1, -1)))
        if self.limit_minutes is not None and lower > self.limit_minutes * len(sequence):
            return _ILLEGAL
        placement = self._place_one_by_one(sequence)
        if placement is None:
            return Interval(lower, math.inf)
        return Interval(lower, sum(offer.minutes for offer, _ in placement), placement)

    def _add_up(self, sequence: Sequenced, order: Iterable[int]) -> float:
        """Return a lower bound: the moves one by one, each with every course of use to those before it for nothing.

        The courses of a plan that are of use to a move reach its entry levels by themselves, so they cost at least
        its cheapest preparation; the others cost at least what the next move still needs when the former are free.
        """
        total: float = 0
        seen: frozenset[str] = frozenset()
        for k in order:
            plan = self.moves.get_plan(self._get_freed_levels(sequence[:k], seen), sequence[k])
            if plan is None:
                return math.inf
            total += plan.lower_bound
            seen |= {sequence[k]}
        return total

    def _get_freed_levels(self, roles: Sequenced, seen: frozenset[str]) -> dict[str, int]:
        """Return the levels after time in `roles` and all courses of use to the roles `seen`."""
        key = (frozenset(roles), seen)
        if key not in self._freed:
            useful = {offer.id: offer for role_id in sorted(seen) for offer in self._get_relevant_offers(role_id)}
            self._freed[key] = take_offers(tuple(useful.values()), self.get_held(roles))
        return self._freed[key]

    def _get_relevant_offers(self, role_id: str) -> tuple[Offer, ...]:
        if role_id not in self._relevant:
            goals = frozenset(self.moves.get_entry_levels(role_id).items())
            staged = build_staged_problem(self.moves.catalogue, [Stage(self.get_held(()), goals)])
            self._relevant[role_id] = tuple(offer for offer, _ in staged.operators)
        return self._relevant[role_id]

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
        """Return what the problem without the preparation limit tells about the one with it."""
        plan = self.moves.parts.solve(staged)
        if plan is None or plan.value is None:
            return _ILLEGAL
        limit = self.limit_minutes
        if limit is None or _keeps_limit(plan.order, limit):
            return Interval(plan.lower_bound, plan.value, plan.order)
        if plan.lower_bound > limit * len(stages):
            return _ILLEGAL
        packed = pack(stages, [offer for offer, _ in plan.order], limit)
        if packed is None:
            return Interval(plan.lower_bound, math.inf)
        return Interval(plan.lower_bound, plan.value, packed)

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
            # no stage can break the limit, so the parts tell it all
            plan = self.moves.parts.solve(staged)
            if plan is not None and plan.is_proved:
                return plan.order
        plan = solve_staged(staged, time_limit_s=self.deadline.get_remaining_s())
        return value.placement if plan is None or plan.value is None or plan.value > value.upper else plan.order


def _holds(levels: Mapping[str, int], facts: Sequence[Fact] | frozenset[Fact]) -> bool:
    return all(level <= levels.get(i, 0) for i, level in facts)


def _keeps_limit(placement: Iterable[tuple[Offer, int]], limit_minutes: int) -> bool:
    spent: Counter[int] = Counter()
    for offer, k in placement:
        spent[k] += offer.minutes
    return all(minutes <= limit_minutes for minutes in spent.values())
