"""What a cross-training plan is to reach: enough qualified people for every need, and every slot filled. Pure.

May import presence, coverage, slots and tolerance. Every need's target counts, among members who have started and not
ended, absent ones included, and all slots are to be filled at once by those present; or, for a wished tolerance t,
every need has minimum + t people present, and the people able for any set X of slots are at least t more than X (Hall).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.practice_counts import get_practice_ceiling
from ontology.analysis.cover.presence import Presence
from ontology.analysis.paths.offers import Fact
from ontology.analysis.places.slots import build_slots
from ontology.analysis.places.tolerance import find_scarce_slots
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.training.training_slots import (
    PLACE_WEIGHT,
    CanDo,
    SlotKind,
    ask_for,
    build_kinds,
    count_empty_weight,
    find_able,
)
from ontology.model.records import CoverNeed

__all__ = ["CountGoal", "Holes", "ScarceKinds", "TrainingGoals", "build_goals"]

Holes = Literal["needs", "places", "all"]
"""What a plan closes: needs below their target, empty slots of places and `together` needs, or both."""


@dataclass(frozen=True)
class CountGoal:
    """At least `wanted` of `people` shall hold all `facts` (competency, level): a need in its scope.

    `ceiling` is how many holders the occasions of a year keep current (None: not told); `wanted` is never above it,
    `beyond` says by how much it otherwise would be.
    """

    need: CoverNeed
    shift: str | None
    facts: frozenset[Fact]
    wanted: int
    people: tuple[str, ...]
    weight: int
    ceiling: int | None = None
    beyond: int = 0

    def count_missing(self, can_do: CanDo) -> int:
        """Return how many people are missing."""
        return max(0, self.wanted - sum(can_do(person, self.facts) for person in self.people))


@dataclass(frozen=True)
class ScarceKinds:
    """Kinds of slots for which `missing` people too few are able."""

    kinds: tuple[int, ...]
    missing: int


@dataclass(frozen=True)
class TrainingGoals:
    """All goals of a plan: needs, and slots to be filled (`tolerance` None) or to have so many people to spare."""

    counts: tuple[CountGoal, ...]
    kinds: tuple[SlotKind, ...]
    tolerance: int | None
    place_weight: int

    def find_scarce_kinds(self, able: Sequence[Sequence[str]]) -> list[ScarceKinds]:
        """Return sets of kinds that have too few `able` people to spare, the worst first; none without a tolerance."""
        if self.tolerance is None:
            return []
        kind_of = [number for number, kind in enumerate(self.kinds) for _ in range(kind.count)]
        found = [
            ScarceKinds(tuple(sorted({kind_of[slot] for slot in scarce.slots})), self.tolerance - scarce.surplus)
            for scarce in find_scarce_slots([able[number] for number in kind_of])
            if scarce.surplus < self.tolerance
        ]
        return sorted(set(found), key=lambda scarce: (-scarce.missing, scarce.kinds))

    def count_missing_slots(self, able: Sequence[Sequence[str]]) -> int:
        """Return what is missing for slots, weighted, when these people are able for each kind."""
        if self.tolerance is None:
            return count_empty_weight(self.kinds, able)
        scarce = self.find_scarce_kinds(able)
        return self.place_weight * scarce[0].missing if scarce else 0

    def count_missing(self, can_do: CanDo) -> int:
        """Return the missing people over all goals, weighted."""
        needs = sum(goal.weight * goal.count_missing(can_do) for goal in self.counts)
        return needs + self.count_missing_slots(find_able(self.kinds, can_do))


def build_goals(presence: Presence, tolerance: int | None, is_weighted: bool, holes: Holes = "all") -> TrainingGoals:
    """Return what a plan for a team is to reach.

    Parameters
    ----------
    tolerance : int or None
        A wished tolerance >= 0, or None for the targets of the needs and every slot filled.
    is_weighted : bool
        Whether a missing person weighs the criticality of the need (3 for places), else 1.
    holes : {"needs", "places", "all"}
        Whether needs, slots of places and `together` needs, or both are goals.
    """
    scopes = build_need_scopes(presence)
    counts: tuple[CountGoal, ...] = ()
    kinds: tuple[SlotKind, ...] = ()
    if holes != "places":
        counts = tuple(_build_count_goal(presence, scope, tolerance, is_weighted) for scope in scopes)
    if holes != "needs":
        kinds = build_kinds(presence, build_slots(presence, scopes), is_weighted=is_weighted)
    return TrainingGoals(counts, kinds, tolerance, PLACE_WEIGHT if is_weighted else 1)


def _build_count_goal(presence: Presence, scope: NeedScope, tolerance: int | None, is_weighted: bool) -> CountGoal:
    need = scope.need
    people = presence.get_scope(scope.shift) if scope.has_scope else ()
    wanted = need.target if tolerance is None else need.minimum + tolerance
    ceiling = get_practice_ceiling(presence.snapshot, need)
    capped = wanted if ceiling is None else min(wanted, ceiling)
    return CountGoal(
        need=need,
        shift=scope.shift,
        facts=ask_for(presence.snapshot, [(need.competency, need.level)]),
        wanted=capped,
        people=tuple(p.id for p in people if tolerance is None or _would_count(presence, p.id, need)),
        weight=need.criticality if is_weighted else 1,
        ceiling=ceiling,
        beyond=wanted - capped,
    )


def _would_count(presence: Presence, person_id: str, need: CoverNeed) -> bool:
    """Whether someone is there, and appointed where the competency asks for that."""
    competency = presence.snapshot.competencies[need.competency]
    is_there = person_id in presence.present_ids
    return is_there and is_appointed(presence.snapshot, person_id, competency, need.level, presence.on)
