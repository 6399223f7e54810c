"""Who fills which places and `together` needs of a team at once, by different people, and why some stay empty. Pure.

First as many slots as possible, then as many places as possible among them, then the slots that come first; the answer
is the same whatever the order of the data.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.places.bottleneck import Matching, find_matching, find_over_demanded
from ontology.analysis.places.slots import Slot, TogetherNeed, build_slots, count_by_need, get_place_remarks
from ontology.model.identity import PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Bottleneck",
    "FilledPlaces",
    "Filling",
    "MannedNeed",
    "MannedPlace",
    "OnlyOne",
    "compute_filled_places",
    "fill_places",
    "tell_filled_places",
]


@dataclass(frozen=True, slots=True)
class MannedPlace:
    """One slot of a place and who fills it; `shift` is None for a team-wide place."""

    place: Annotated[str, "Id of the place."]
    person: Annotated[PersonId, "Id of the person."]
    shift: Annotated[str | None, "The shift; null for the team."]


@dataclass(frozen=True, slots=True)
class MannedNeed:
    """One slot of a need that must be met together with others, and who fills it."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    shift: Annotated[str | None, "The shift; null for the team."]
    together: Annotated[str, "The group."]
    person: Annotated[PersonId, "Id of the person."]


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The slots that compete and everyone able for one of them: fewer people than slots.

    `places` holds a place's id once for every slot of it, `needs` the `together` needs; all empty when all slots
    are filled. Every one of these slots could be among the filled ones; not all of them at once.
    """

    places: Annotated[tuple[str, ...], "A place's id once for every slot of it."]
    needs: Annotated[tuple[TogetherNeed, ...], "The same for needs of a group."]
    people: Annotated[tuple[PersonId, ...], "Everyone able for one of these slots."]


@dataclass(frozen=True, slots=True)
class OnlyOne:
    """A place that only one of the people present can fill; `shift` is None for a team-wide place."""

    place: Annotated[str, "Id of the place."]
    shift: Annotated[str | None, "The shift; null for the team."]
    person: Annotated[PersonId, "Id of the person."]


@dataclass(frozen=True, slots=True)
class FilledPlaces:
    """A team's slots on a date and who fills them."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    places: Annotated[int, "Slots of places."]
    filled: Annotated[PeopleCount, "How many of them are filled at the most."]
    together_slots: Annotated[int, "Slots of needs of a group."]
    together_filled: Annotated[PeopleCount, "How many of them are filled."]
    assignment: Annotated[tuple[MannedPlace, ...], "One of the best assignments."]
    together_assignment: Annotated[tuple[MannedNeed, ...], "The same for needs of a group."]
    unfilled: Annotated[tuple[str, ...], "A place's id once for every slot that stays empty."]
    unfilled_needs: Annotated[tuple[TogetherNeed, ...], "The same for needs of a group."]
    unfilled_before: Annotated[
        tuple[str, ...], "A place's id once for every slot that stays empty though nobody is taken as absent."
    ]
    bottleneck: Annotated[Bottleneck, "Why some stay empty."]
    only_one_can: Annotated[tuple[OnlyOne, ...], "Places that only one of the people present can fill."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


@dataclass(frozen=True, slots=True)
class Filling:
    """The slots of a team on a day and who fills them."""

    slots: list[Slot]
    matching: Matching

    @property
    def empty(self) -> list[Slot]:
        """Slots that nobody fills, in order."""
        return [self.slots[index] for index in self.matching.empty_slots]

    @property
    def empty_places(self) -> tuple[str, ...]:
        """A place's id once for every slot that nobody fills."""
        return tuple([slot.place for slot in self.empty if slot.place is not None])


def compute_filled_places(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[PersonId] = frozenset()
) -> FilledPlaces:
    """Return who of those present fills which slots of a team, and what is too scarce.

    Parameters
    ----------
    away : frozenset of str
        People taken as absent on top of the recorded absences.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.

    Notes
    -----
    A maximum matching, O(slots x able pairs); a second one where someone is taken as absent.

    References
    ----------
    .. [1] Dulmage & Mendelsohn (1958), Canadian Journal of Mathematics 10, 517-534.
    .. [2] Hall (1935), Journal of the London Mathematical Society 10, 26-30.
    """
    presence = get_presence(snapshot, team_id, on, away)
    return tell_filled_places(presence, fill_places(presence))


def fill_places(presence: Presence) -> Filling:
    """Return the slots of a team, and as many of them filled by those present as can be."""
    slots = build_slots(presence)
    return Filling(slots, find_matching([slot.able for slot in slots]))


def tell_filled_places(presence: Presence, filling: Filling) -> FilledPlaces:
    """Return what is to be told of how the slots of a team are filled."""
    slots, matching = filling.slots, filling.matching
    manned_places, manned_needs = [], []
    for slot, person in zip(slots, matching.person_of, strict=True):
        if person is None:
            continue
        if slot.place is not None:
            manned_places.append(MannedPlace(slot.place, person, slot.shift))
        elif slot.need is not None:
            need = slot.need
            manned_needs.append(MannedNeed(need.competency, need.level, slot.shift, need.together, person))
    competing_indices, too_few = find_over_demanded(matching)
    competing = [slots[index] for index in competing_indices]
    return FilledPlaces(
        team=presence.team,
        on=presence.on,
        away=presence.away,
        places=sum([slot.place is not None for slot in slots]),
        filled=len(manned_places),
        together_slots=sum([slot.need is not None for slot in slots]),
        together_filled=len(manned_needs),
        assignment=tuple(manned_places),
        together_assignment=tuple(manned_needs),
        unfilled=filling.empty_places,
        unfilled_needs=count_by_need(filling.empty),
        unfilled_before=_find_unfilled_before(presence) if presence.away else filling.empty_places,
        bottleneck=Bottleneck(
            places=tuple([slot.place for slot in competing if slot.place is not None]),
            needs=count_by_need(competing),
            people=tuple(too_few),
        ),
        only_one_can=_get_only_ones(slots),
        remarks=tuple(get_place_remarks(presence)),
    )


def _find_unfilled_before(presence: Presence) -> tuple[str, ...]:
    """Return the places of the slots that stay empty where nobody is asked to be taken as absent."""
    as_recorded = get_presence(presence.snapshot, presence.team, presence.on)
    return presence.keep("unfilled", lambda: fill_places(as_recorded).empty_places)


def _get_only_ones(slots: list[Slot]) -> tuple[OnlyOne, ...]:
    found = [OnlyOne(slot.place, slot.shift, slot.able[0]) for slot in slots if slot.place and len(slot.able) == 1]
    return tuple(dict.fromkeys(found))
