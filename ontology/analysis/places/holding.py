"""What holds in a team on a day, and what would not hold without some of its people. Pure.

May import presence, coverage, slots and bottleneck. The one answer to "what falls without them": needs as coverage
judges them, places and slots of groups as staffing fills them, so that asking either with these people away finds it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.presence import Presence
from ontology.analysis.places.bottleneck import Matching, find_essential_people, find_matching
from ontology.analysis.places.slots import Slot, TogetherNeed, build_slots, count_by_need

__all__ = ["Fallen", "FallenNeed", "Holding", "build_holding", "find_broken"]


@dataclass(frozen=True, slots=True)
class FallenNeed:
    """A cover need that would be short; `shift` is where, None for the team."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where; null for the team."]


@dataclass(frozen=True, slots=True)
class Fallen:
    """What held and would not hold any more.

    Attributes
    ----------
    needs : tuple of FallenNeed
        Needs that were not short and would be, each once for every shift, in the order of needs.
    places : tuple of str
        A place's id once for every slot that was filled and would be left empty, in the order of places.
    together : tuple of TogetherNeed
        The same for slots of needs that different people must meet at once, counted.
    """

    needs: tuple[FallenNeed, ...] = ()
    places: tuple[str, ...] = ()
    together: tuple[TogetherNeed, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.needs or self.places or self.together)


@dataclass(frozen=True)
class Holding:
    """A team on a day with all that holds in it.

    Attributes
    ----------
    scopes : sequence of NeedScope
        Every need where it counts.
    slots : sequence of Slot
        Those of places, then those of groups.
    matching : Matching
        How staffing fills them.
    """

    scopes: Sequence[NeedScope]
    slots: Sequence[Slot]
    matching: Matching

    @cached_property
    def essential_people(self) -> frozenset[str]:
        """Everyone without whom one slot fewer can be filled."""
        return frozenset(find_essential_people(self.matching))

    @cached_property
    def leaning_people(self) -> frozenset[str]:
        """Everyone without whom alone something falls: who is essential, or in a need that has nobody to spare."""
        tight = (scope.present for scope in self.scopes if scope.depth == scope.need.minimum)
        return self.essential_people.union(*tight)

    def find_broken(self, without: Collection[str]) -> Fallen:
        """Return what would not hold without some people, all of them away at once.

        Notes
        -----
        A need falls where fewer than its minimum are left. Slots are filled anew in their order: the filled slots of
        a matching are the first possible ones (a transversal matroid), and with fewer people they are some of those
        filled before. So the slots that fall are as many as can no longer be filled, the same ones every time, and
        those that `compute_staffing` leaves empty with these people away. O(needs x members), and one matching where
        one of them holds a slot.
        """
        gone = frozenset(without)
        needs = tuple(
            FallenNeed(scope.need.competency, scope.need.level, scope.need.applies, scope.shift)
            for scope in self.scopes
            if not scope.is_short and len(gone.intersection(scope.present)) > scope.depth - scope.need.minimum
        )
        lost = [self.slots[index] for index in self._find_lost_slots(gone)]
        places = tuple([slot.place for slot in lost if slot.place is not None])
        return Fallen(needs, places, count_by_need(lost))

    def _find_lost_slots(self, gone: frozenset[str]) -> list[int]:
        before = self.matching
        # without someone who can be spared, or holds nothing, as many are filled: the same ones
        if not before.slot_of.keys() & gone or (len(gone) == 1 and gone.isdisjoint(self.essential_people)):
            return []
        after = find_matching(before.able, gone)
        if after.size == before.size:
            return []
        return [index for index in after.empty_slots if before.person_of[index] is not None]


def build_holding(presence: Presence, scopes: Sequence[NeedScope] | None = None) -> Holding:
    """Return what holds in a team on a day: of all its needs, or of those given, and of its places.

    O(roles x members x requirements), and one matching.
    """
    scopes = build_need_scopes(presence) if scopes is None else scopes
    slots = build_slots(presence, scopes)
    return Holding(scopes, slots, find_matching([slot.able for slot in slots]))


def find_broken(presence: Presence, without: Collection[str]) -> Fallen:
    """Return what holds in a team on a day and would not without some people; see `Holding.find_broken`."""
    return build_holding(presence).find_broken(without)
