"""People whose absence alone makes something fall that holds now. Pure.

May import presence, coverage, slots and bottleneck. A fault of the organisation, not of the person.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.bottleneck import (
    Matching,
    find_matching,
    get_blocks,
    get_essential_people,
    get_over_demanded,
)
from ontology.analysis.places.slots import Slot, TogetherNeed, build_slots, count_by_need
from ontology.graph.snapshot import Snapshot

__all__ = ["FallenNeed", "SinglePoint", "SinglePointsResult", "find_single_points_of_failure"]


@dataclass(frozen=True, slots=True)
class FallenNeed:
    """A cover need that would be short; `shift` is where, None for the team."""

    competency: str
    level: int
    applies: str
    shift: str | None


@dataclass(frozen=True, slots=True)
class SinglePoint:
    """Whose absence, and what would fall with it.

    Attributes
    ----------
    id : str
        The person.
    needs : tuple of FallenNeed
        Needs that would be short, in the order of needs.
    places : tuple of str
        Ids of the places of which one slot more could not be filled: those that would compete for the people left.
    together : tuple of TogetherNeed
        The same for needs that different people must meet at once, where all places could still be filled.
    """

    id: str
    needs: tuple[FallenNeed, ...]
    places: tuple[str, ...]
    together: tuple[TogetherNeed, ...]


@dataclass(frozen=True, slots=True)
class SinglePointsResult:
    """Every single point of failure of a team on a date, by id; who is absent already cannot be one."""

    team: str
    on: date
    away: tuple[str, ...]
    people: tuple[SinglePoint, ...]


def find_single_points_of_failure(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()
) -> SinglePointsResult:
    """Return everyone whose absence alone makes a need short that was not, or leaves a place empty that was filled.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
    away : frozenset of str
        People taken as absent on top of the recorded absences.

    Returns
    -------
    SinglePointsResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.

    Notes
    -----
    A need falls with each of its people when its depth is its minimum. A place falls with a person who is in every
    maximum matching of slots to people. When several places could be the one left empty, all are named: the slots
    that some best assignment without the person leaves empty and no best assignment with the person does; where the
    person works among slots that were too many already, all slots of that part. One matching, then
    O(size of the able lists) for each person.
    """
    presence = get_presence(snapshot, team_id, on, away)
    scopes = build_need_scopes(presence)
    needs: defaultdict[str, list[FallenNeed]] = defaultdict(list)
    for scope in scopes:
        if scope.depth == scope.need.minimum:
            fallen = FallenNeed(scope.need.competency, scope.need.level, scope.need.applies, scope.shift)
            for person_id in scope.present:
                needs[person_id].append(fallen)
    slots = build_slots(presence, scopes)
    everything = _Falling(find_matching([slot.able for slot in slots]))
    only_places = _Falling(find_matching([slot.able for slot in slots if slot.place is not None]))
    essential = get_essential_people(everything.matching)
    essential_for_places = get_essential_people(only_places.matching)
    people = []
    for person_id in sorted(essential | needs.keys()):
        places: tuple[str, ...] = ()
        together: tuple[TogetherNeed, ...] = ()
        if person_id in essential_for_places:
            # places come first in the list of slots, so the indices are the same
            falling = [slots[index].place for index in only_places.get_slots(person_id)]
            places = tuple(sorted({place for place in falling if place is not None}))
        elif person_id in essential:
            together = _get_falling_needs(everything, person_id, slots)
        people.append(SinglePoint(person_id, tuple(needs[person_id]), places, together))
    return SinglePointsResult(team_id, on, presence.away, tuple(people))


class _Falling:
    """Which slots one more stays empty of, without someone who is in every maximum matching."""

    def __init__(self, matching: Matching) -> None:
        self.matching = matching
        self._crowded, _ = get_over_demanded(matching)
        self._slots_of = {
            person: slots for slots, people in get_blocks(matching.able, self._crowded) for person in people
        }

    def get_slots(self, person_id: str) -> list[int]:
        """Return the slots; where people are too few already, all of that connected part."""
        if person_id in self._slots_of:
            return self._slots_of[person_id]
        competing, _ = get_over_demanded(self.matching.copy_without(person_id), {person_id})
        return sorted(set(competing).difference(self._crowded))


def _get_falling_needs(everything: _Falling, person_id: str, slots: list[Slot]) -> tuple[TogetherNeed, ...]:
    """Return the `together` needs of which one slot more stays empty, where the places stay filled in their stead."""
    falling = everything.get_slots(person_id)
    needs = count_by_need([slots[index] for index in falling])
    if needs:
        return needs
    matching = everything.matching
    # Only places are newly in danger; someone steps in from a group that was one of too many slots already.
    competing, _ = get_over_demanded(matching.copy_without(person_id), {person_id})
    able = [[other for other in people if other != person_id] for people in matching.able]
    joined = [index for block, _ in get_blocks(able, competing) if set(block) & set(falling) for index in block]
    return count_by_need([slots[index] for index in joined])
