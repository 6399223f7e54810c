"""Study minutes of a fixed sequence of moves: cheap bounds first, the exact joint placement where they differ. Pure.

Bounds forget the limit of each preparation; so does the first solution, which is exact where its courses can be packed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import (
    Fact,
    Offer,
    Stage,
    build_staged_problem,
    get_whole_minutes,
)
from ontology.analysis.paths.planner import Placement, solve_staged
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.joint_solver import ROUTE_AIMS, JointBound
from ontology.analysis.routes.moves import MoveCosts, grow
from ontology.analysis.routes.route_landmarks import JointLandmarks
from ontology.analysis.routes.route_outlook import Outlook
from ontology.analysis.routes.route_packing import pack
from ontology.analysis.routes.route_reach import Reach
from ontology.snapshot.snapshot import Snapshot

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
        #: whether every choice among equally good courses was settled so far
        self.is_settled = True
        self.limit_minutes = get_whole_minutes(preparation_limit)
        self.moves = MoveCosts(snapshot, profile, deadline)
        self._level_limit = level_limit
        self._held: dict[frozenset[str], dict[str, int]] = {frozenset(): dict(profile.levels)}
        self._reach = Reach(self.moves.catalogue)
        self._reached: dict[frozenset[str], dict[str, int]] = {}
        self._landmarks: dict[Sequenced, JointLandmarks] = {}
        self._relaxed: dict[Sequenced, Interval] = {}
        self._joint: dict[Sequenced, JointBound] = {}
        self._unlimited: dict[Sequenced, Placement] = {}
        self._too_long: dict[tuple[Sequenced, frozenset[Fact]], bool] = {}
        self._gates: dict[str, tuple[Fact, ...]] = {}
        self._bounds: dict[Sequenced, Interval] = {}
        self._values: dict[Sequenced, Interval] = {}

    @property
    def pace(self) -> float:
        """Study hours a week."""
        return self.profile.study_hours_per_week

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
            held = self.get_held(roles)
            self._reached[key] = (
                self._reach.extend(self.get_reached(roles[:-1]), held) if roles else self._reach.start(held)
            )
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
        if not self.keeps_first_gate(sequence):
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
        stages = self.build_stages(sequence)
        if stages is None:
            return _ILLEGAL
        if not all(_holds(self.get_reached(sequence[:k]), stage.goals) for k, stage in enumerate(stages)):
            return _ILLEGAL
        lower = self.get_landmarks(sequence).minutes
        if self.limit_minutes is not None and lower > self.limit_minutes * len(sequence):
            return _ILLEGAL
        return Interval(lower, math.inf)

    def get_landmarks(self, sequence: Sequenced) -> JointLandmarks:
        """Return the landmarks of a sequence whose first move keeps the level limit."""
        if sequence not in self._landmarks:
            stages = self.build_stages(sequence)
            assert stages is not None
            due = {
                goal: k for k, role_id in enumerate(sequence) for goal in self.moves.get_entry_levels(role_id).items()
            }
            for k, role_id in enumerate(sequence):
                for gate in self.get_gates(role_id):
                    # a role put in before this move would bring it in time
                    due[gate] = max(k, due.get(gate, 0))
            self._landmarks[sequence] = self.moves.landmarks.find_joint(stages, due)
        return self._landmarks[sequence]

    def build_outlook(self, roles: tuple[str, ...]) -> Outlook:
        """Return bounds for all sequences of these roles, the last of which is the target."""
        gates = {role_id: self.get_gates(role_id) for role_id in roles}
        return Outlook(self.moves, self.profile, roles, gates, self.limit_minutes, self.get_reached)

    def bound_with_all_growth(self, roles: tuple[str, ...]) -> float:
        """Return a lower bound of every sequence of these roles: the target's entry with the growth of all others."""
        landmarks = self.moves.get_landmarks(self.get_held(roles[:-1]), roles[-1])
        return sum(landmark.minutes for landmark in landmarks)

    def get_value(self, sequence: Sequenced) -> Interval:
        """Return the least minutes of a sequence over all placements: exact unless the deadline has struck."""
        if sequence not in self._values:
            self._values[sequence] = self._evaluate(sequence)
        return self._values[sequence]

    def find_value(self, sequence: Sequenced) -> Interval | None:
        """Return the value of a sequence where it has been worked out."""
        return self._values.get(sequence)

    def keeps_first_gate(self, sequence: Sequenced) -> bool:
        """Whether the first move keeps the level limit."""
        return _holds(self.get_held(()), self.get_gates(sequence[0]))

    def get_known(self, sequence: Sequenced) -> Interval:
        """Return the best that has been worked out of a sequence so far."""
        return self._values.get(sequence) or self._relaxed.get(sequence) or self.get_bounds(sequence)

    def find_relaxed(self, sequence: Sequenced, enough: float = math.inf) -> Interval:
        """Return what the least minutes without the preparation limit tell about a sequence; often all.

        Less where more than `enough` is proved before.
        """
        while sequence not in self._relaxed:
            bounds = self.get_bounds(sequence)
            if bounds.is_exact or bounds.lower > enough or self.deadline.is_over():
                return bounds
            self.tighten(sequence)
        return self._relaxed[sequence]

    def is_relaxed(self, sequence: Sequenced) -> bool:
        """Whether all is known that the least minutes without the preparation limit can tell."""
        return sequence in self._relaxed or self.get_bounds(sequence).is_exact

    def tighten(self, sequence: Sequenced) -> None:
        """Work out a little more of the least minutes without the preparation limit."""
        stages = self.build_stages(sequence)
        assert stages is not None
        joint = self._joint.get(sequence)
        if joint is None:
            if len(stages) > 1 and self._is_too_long(sequence, stages[:1]):
                self._relaxed[sequence] = _ILLEGAL
                return
            joint = self._joint[sequence] = JointBound(self.moves.joint, stages)
        else:
            joint.advance()
        if joint.lower == math.inf or (
            self.limit_minutes is not None and joint.lower > self.limit_minutes * len(stages)
        ):
            self._relaxed[sequence] = _ILLEGAL
        elif joint.is_done:
            known = self._judge(tuple(joint.placement), joint.value, int(joint.lower), stages)
            self._relaxed[sequence] = known
            if not known.is_exact:
                self._unlimited[sequence] = tuple(joint.placement)
        else:
            self._bounds[sequence] = Interval(max(joint.lower, self.get_bounds(sequence).lower), math.inf)
            return
        del self._joint[sequence]

    def _evaluate(self, sequence: Sequenced) -> Interval:
        joint = self.find_relaxed(sequence)
        if joint.is_exact or self.deadline.is_over():
            return joint
        without_limit = self._unlimited.pop(sequence)
        stages = self.build_stages(sequence)
        assert stages is not None
        for count in range(2, len(stages)):
            if not self._has_room(without_limit, count) and self._is_too_long(sequence, stages[:count]):
                return _ILLEGAL
        staged = build_staged_problem(self.moves.catalogue, stages, stage_limit_minutes=self.limit_minutes)
        plan = solve_staged(staged, time_limit_s=self.deadline.get_remaining_s(), settles_ties=False)
        if plan is None:
            return _ILLEGAL
        lower = max(joint.lower, plan.lower_bound)
        if plan.value is None or plan.value > joint.upper:
            return Interval(min(lower, joint.upper), joint.upper, joint.placement)
        return Interval(min(lower, plan.value), plan.value, plan.order)

    def _has_room(self, placement: Placement, count: int) -> bool:
        """Whether what a placement puts into the first stages fits into them together."""
        spent = sum(offer.minutes for offer, k in placement if k < count)
        return self.limit_minutes is None or spent <= count * self.limit_minutes

    def _is_too_long(self, sequence: Sequenced, stages: Sequence[Stage]) -> bool:
        """Whether what the first stages of a sequence ask by themselves is more than they have room for."""
        if self.limit_minutes is None:
            return False
        key = (sequence[: len(stages)], stages[-1].goals)
        if key not in self._too_long:
            joint, room = JointBound(self.moves.joint, stages), len(stages) * self.limit_minutes
            while joint.lower <= room and not joint.is_done:
                joint.advance()
            self._too_long[key] = joint.lower > room
        return self._too_long[key]

    def _judge(self, order: Placement, value: int, lower: int, stages: Sequence[Stage]) -> Interval:
        """Return what a plan without the limit tells: all, where its courses can be packed."""
        limit = self.limit_minutes
        if limit is None or _keeps_limit(order, limit):
            return Interval(lower, value, order)
        if lower > limit * len(stages):
            return _ILLEGAL
        packed = pack(stages, [offer for offer, _ in order], limit)
        if packed is None:
            return Interval(lower, math.inf)
        return Interval(lower, value, packed)

    def refine(self, sequence: Sequenced) -> Placement:
        """Return the placement of a legal sequence: least hours, then cost, then courses, then each course as late.

        The witness of `get_value` where the deadline strikes first; then `is_settled` is False.
        """
        value = self.get_value(sequence)
        if not value.is_exact or self.deadline.is_over():
            self.is_settled = False
            return value.placement
        stages = self.build_stages(sequence)
        assert stages is not None
        limit, relaxed = self.limit_minutes, self._relaxed.get(sequence)
        if relaxed is None or relaxed.lower == value.upper:
            # what is best without the limit and keeps it is best
            plan = self.moves.joint.solve(stages, ROUTE_AIMS)
            if plan is not None and plan.is_proved and (limit is None or _keeps_limit(plan.order, limit)):
                return self.moves.joint.arrange(stages, plan.order)
        staged = build_staged_problem(self.moves.catalogue, stages, aims=ROUTE_AIMS, stage_limit_minutes=limit)
        plan = solve_staged(staged, time_limit_s=self.deadline.get_remaining_s())
        self.is_settled &= plan is not None and plan.is_proved
        return value.placement if plan is None or plan.value is None or plan.value > value.upper else plan.order


def _holds(levels: Mapping[str, int], facts: Sequence[Fact] | frozenset[Fact]) -> bool:
    return all(level <= levels.get(i, 0) for i, level in facts)


def _keeps_limit(placement: Iterable[tuple[Offer, int]], limit_minutes: int) -> bool:
    spent: Counter[int] = Counter()
    for offer, k in placement:
        spent[k] += offer.minutes
    return all(minutes <= limit_minutes for minutes in spent.values())
