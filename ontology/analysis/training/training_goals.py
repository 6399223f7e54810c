"""What a cross-training plan is to reach: enough qualified people for every need, or a wished tolerance. Pure.

May import presence, coverage, slots and tolerance. Either every need's target counts, among members who have started
and not ended, absent ones included; or, for a wished tolerance t, every need has minimum + t people present, and the
people able for any set X of slots are at least t more than X (Hall).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.presence import Presence
from ontology.analysis.paths.offers import Fact
from ontology.analysis.places.slots import Slot, build_slots
from ontology.analysis.places.tolerance import find_scarce_slots
from ontology.graph.snapshot import Snapshot
from ontology.records import CoverNeed

__all__ = ["CountGoal", "ScarceKinds", "SlotKind", "TrainingGoals", "build_goals", "get_practice_ceiling"]

CanDo = Callable[[str, frozenset[Fact]], bool]
"""Whether a person has all of these levels."""

PLACE_WEIGHT = 3
"""What a missing person for places weighs when needs weigh their criticality: the default criticality."""


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
class SlotKind:
    """`count` equal slots of a place or a `together` need; `facts` is None where nobody can ever be able."""

    place: str | None
    need: CoverNeed | None
    count: int
    facts: frozenset[Fact] | None
    people: tuple[str, ...]


@dataclass(frozen=True)
class ScarceKinds:
    """Kinds of slots for which `missing` people too few are able."""

    kinds: tuple[int, ...]
    missing: int


@dataclass(frozen=True)
class TrainingGoals:
    """All goals of a plan; `kinds` is empty unless a tolerance is wished."""

    counts: tuple[CountGoal, ...]
    kinds: tuple[SlotKind, ...]
    tolerance: int
    place_weight: int

    def find_scarce_kinds(self, can_do: CanDo) -> list[ScarceKinds]:
        """Return sets of kinds for which people are missing, the worst first; the first tells how many."""
        able: list[tuple[str, ...]] = []
        kind_of: list[int] = []
        for number, kind in enumerate(self.kinds):
            facts = kind.facts
            people = () if facts is None else tuple(person for person in kind.people if can_do(person, facts))
            able += [people] * kind.count
            kind_of += [number] * kind.count
        found = [
            ScarceKinds(tuple(sorted({kind_of[slot] for slot in scarce.slots})), self.tolerance - scarce.surplus)
            for scarce in find_scarce_slots(able)
            if scarce.surplus < self.tolerance
        ]
        return sorted(set(found), key=lambda scarce: (-scarce.missing, scarce.kinds))

    def count_missing(self, can_do: CanDo) -> int:
        """Return the missing people over all goals, weighted."""
        scarce = self.find_scarce_kinds(can_do)
        return sum(goal.weight * goal.count_missing(can_do) for goal in self.counts) + self.place_weight * (
            scarce[0].missing if scarce else 0
        )


def build_goals(presence: Presence, tolerance: int | None, is_weighted: bool) -> TrainingGoals:
    """Return what a plan for a team is to reach.

    Parameters
    ----------
    presence : Presence
    tolerance : int or None
        A wished tolerance >= 0, or None for the targets of the needs.
    is_weighted : bool
        Whether a missing person weighs the criticality of the need, else 1.
    """
    scopes = build_need_scopes(presence)
    counts = tuple(_build_count_goal(presence, scope, tolerance, is_weighted) for scope in scopes)
    kinds: tuple[SlotKind, ...] = ()
    if tolerance is not None:
        kinds = _build_kinds(presence, build_slots(presence, scopes))
    return TrainingGoals(counts, kinds, tolerance or 0, PLACE_WEIGHT if is_weighted else 1)


def _build_count_goal(presence: Presence, scope: NeedScope, tolerance: int | None, is_weighted: bool) -> CountGoal:
    need = scope.need
    people = presence.get_scope(scope.shift) if scope.has_scope else ()
    wanted = need.target if tolerance is None else need.minimum + tolerance
    ceiling = get_practice_ceiling(presence.snapshot, need)
    capped = wanted if ceiling is None else min(wanted, ceiling)
    return CountGoal(
        need=need,
        shift=scope.shift,
        facts=frozenset({(need.competency, need.level)}),
        wanted=capped,
        people=tuple(p.id for p in people if tolerance is None or p.id in presence.present_ids),
        weight=need.criticality if is_weighted else 1,
        ceiling=ceiling,
        beyond=wanted - capped,
    )


def get_practice_ceiling(snapshot: Snapshot, need: CoverNeed) -> int | None:
    """Return how many holders the occasions of a year can keep current: whole occasions / practices for each.

    None where either is not told, or no practice is asked for. More holders than that are cover on paper.
    """
    practices = snapshot.competencies[need.competency].practices_per_year
    if need.occasions_per_year is None or not practices:
        return None
    # from the written decimals, so that 0.3 / 0.1 is 3
    return math.floor(Fraction(repr(need.occasions_per_year)) / Fraction(repr(practices)))


def _build_kinds(presence: Presence, slots: Sequence[Slot]) -> tuple[SlotKind, ...]:
    groups: dict[tuple[str | None, CoverNeed | None, str | None], int] = {}
    for slot in slots:
        key = (slot.place, slot.need, slot.shift)
        groups[key] = groups.get(key, 0) + 1
    kinds = []
    for (place_id, need, shift), count in groups.items():
        people = tuple(p.id for p in presence.get_scope(shift) if p.id in presence.present_ids)
        facts: frozenset[Fact] | None
        if need is not None:
            facts = frozenset({(need.competency, need.level)})
            has_scope = shift is not None or need.applies == "team"
            people = people if has_scope else ()
        else:
            requirements = presence.snapshot.get_requirements(presence.snapshot.places[place_id or ""].role)
            facts = frozenset((r.competency, r.unsupervised_level) for r in requirements if r.necessity != "desirable")
            facts = facts if requirements else None
        kinds.append(SlotKind(place_id, need, count, facts, people))
    return tuple(kinds)
