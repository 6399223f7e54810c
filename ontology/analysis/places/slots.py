"""Slots: what must be manned at once by different people, and who of those present is able. Pure.

May import presence, coverage and the snapshot. A place gives one slot for each of its count, a need that belongs to
a `together` group one for each person of its minimum, in every shift it applies to. A shift's slots are filled by
its people, team-wide slots by everyone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.presence import Presence
from ontology.model.identity import PeopleShort
from ontology.model.records import CoverNeed, Place
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Slot",
    "TogetherNeed",
    "build_slots",
    "count_by_need",
    "get_place_remarks",
    "is_able",
    "list_unsupervised_levels",
]


@dataclass(frozen=True, slots=True)
class TogetherNeed:
    """A need of a `together` group where it counts; `slots` is how many of its slots are meant."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "Where; null for the team."]
    together: Annotated[str, "The group."]
    slots: Annotated[PeopleShort, "How many of its slots are meant."]


@dataclass(frozen=True, slots=True)
class Slot:
    """One slot: of a place, or of a need that belongs to a group.

    `able` holds the ids of the people present who can fill it, sorted; equal slots follow each other.
    """

    place: str | None
    need: CoverNeed | None
    shift: str | None
    able: tuple[str, ...]


def list_unsupervised_levels(snapshot: Snapshot, role_id: str) -> list[tuple[str, int]]:
    """Return (competency, level) of a role's blocking and essential requirements at unsupervised level."""
    requirements = snapshot.get_requirements(role_id)
    return [(r.competency, r.unsupervised_level) for r in requirements if r.necessity != "desirable"]


def is_able(presence: Presence, person_id: str, role_id: str) -> bool:
    """Whether a person meets every blocking and essential requirement of a role at unsupervised level.

    Where a competency asks for the employer's appointment, they must have it. Nobody is able for a role without
    requirements.
    """
    requirements = presence.snapshot.get_requirements(role_id)
    return bool(requirements) and all(
        presence.counts_for(person_id, requirement.competency, requirement.unsupervised_level)
        for requirement in requirements
        if requirement.necessity != "desirable"
    )


def build_slots(presence: Presence, scopes: Sequence[NeedScope] | None = None) -> list[Slot]:
    """Return the team's slots: those of places by id, then those of `together` needs in the order of needs.

    Parameters
    ----------
    scopes : sequence of NeedScope, optional
        The team's needs, where they are known already.

    Notes
    -----
    O(roles x members x requirements) in each shift for a team and day; then O(places x members).
    """
    slots: list[Slot] = []
    there = presence.present_ids
    for place in presence.snapshot.get_places(presence.team):
        able = tuple([person for person in _find_able(presence, place) if person in there])
        slots.extend([Slot(place.id, None, place.shift or None, able)] * place.count)
    for scope in build_need_scopes(presence) if scopes is None else scopes:
        if scope.need.together:
            slots.extend([Slot(None, scope.need, scope.shift, scope.present)] * scope.need.minimum)
    return slots


def _find_able(presence: Presence, place: Place) -> tuple[str, ...]:
    """Return who of those where a place is could fill it, absent ones included; found once for a team and day."""
    kept: dict[tuple[str, str], tuple[str, ...]] = presence.keep("able", dict)
    asked = place.role, place.shift
    if asked not in kept:
        people = presence.get_scope(place.shift or None)
        kept[asked] = tuple([person.id for person in people if is_able(presence, person.id, place.role)])
    return kept[asked]


def count_by_need(slots: Sequence[Slot]) -> tuple[TogetherNeed, ...]:
    """Return the `together` needs among some slots with how many slots each has there, in their order."""
    counts: dict[tuple[CoverNeed, str | None], int] = {}
    for slot in slots:
        if slot.need is not None:
            key = (slot.need, slot.shift)
            counts[key] = counts.get(key, 0) + 1
    return tuple(
        TogetherNeed(need.competency, need.level, need.applies, shift, need.together, count)
        for (need, shift), count in counts.items()
    )


def get_place_remarks(presence: Presence) -> list[str]:
    """Return what is odd about the team's places: a role that asks for nothing, a shift of another team."""
    remarks = []
    snapshot = presence.snapshot
    shift_ids = {shift.id for shift in snapshot.get_shifts(presence.team)}
    for place in snapshot.get_places(presence.team):
        remarks += _get_role_remarks(place, [r.necessity for r in snapshot.get_requirements(place.role)])
        if place.shift and place.shift not in shift_ids:
            remarks.append(f"Place {place.id} belongs to {place.shift}, which is no shift of this team.")
    return remarks


def _get_role_remarks(place: Place, necessities: list[str]) -> list[str]:
    if not necessities:
        return [f"Place {place.id}: the role {place.role} has no requirements, so nobody counts as able."]
    if all(necessity == "desirable" for necessity in necessities):
        return [f"Place {place.id}: the role {place.role} asks for nothing blocking or essential: everyone is able."]
    return []
