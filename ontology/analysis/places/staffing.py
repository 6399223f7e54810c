"""Who mans what: all places and `together` needs of a team at once, by different people. Pure.

May import presence, coverage, slots, bottleneck, tolerance, absence_counts and closest. First as many slots as
possible, then as many places as possible among them, then the slots that come first; the answer is the same whatever
the order of the data.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.places.absence_counts import PairsBreaking, TriplesBreaking, count_breaking
from ontology.analysis.places.bottleneck import Matching, find_essential_people, find_matching, find_over_demanded
from ontology.analysis.places.closest import ClosestPerson, find_closest
from ontology.analysis.places.slots import Slot, TogetherNeed, build_slots, count_by_need, get_place_remarks
from ontology.analysis.places.tolerance import Tolerance, compute_tolerance
from ontology.analysis.places.trainees import Trainee, find_trainees
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AfterLeaving", "Bottleneck", "MannedNeed", "MannedPlace", "OnlyOne", "StaffingResult", "compute_staffing"]


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
class AfterLeaving:
    """What the team would stand without some people for good; fields as in `StaffingResult`."""

    filled: Annotated[int, "Slots of places filled at the most."]
    together_filled: Annotated[int, "Slots of needs of a group filled."]
    tolerance: Annotated[Tolerance, "What absences the team would stand then."]
    critical_absences: Annotated[
        tuple[PersonId, ...], "One smallest set of people whose absence would break something then."
    ]
    pairs_breaking: Annotated[PairsBreaking, "How many pairs of absences would."]
    triples_breaking: Annotated[TriplesBreaking, "How many triples of absences would."]


@dataclass(frozen=True, slots=True)
class StaffingResult:
    """A team's slots on a date."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    places: Annotated[int, "Slots of places."]
    filled: Annotated[int, "How many of them are filled at the most."]
    together_slots: Annotated[int, "Slots of needs of a group."]
    together_filled: Annotated[int, "How many of them are filled."]
    assignment: Annotated[tuple[MannedPlace, ...], "One of the best assignments."]
    together_assignment: Annotated[tuple[MannedNeed, ...], "The same for needs of a group."]
    trainees: Annotated[tuple[Trainee, ...], "Who may learn at a place beside those who fill it: no cover."]
    unfilled: Annotated[tuple[str, ...], "A place's id once for every slot that stays empty."]
    unfilled_needs: Annotated[tuple[TogetherNeed, ...], "The same for needs of a group."]
    unfilled_before: Annotated[
        tuple[str, ...], "A place's id once for every slot that stays empty though nobody is taken as absent."
    ]
    bottleneck: Annotated[Bottleneck, "Why some stay empty."]
    closest: Annotated[
        tuple[ClosestPerson, ...], "Who lacks least for the slots that stay empty, all of them taken together."
    ]
    only_one_can: Annotated[tuple[OnlyOne, ...], "Places that only one of the people present can fill."]
    cannot_be_spared: Annotated[tuple[PersonId, ...], "Everyone without whom one slot fewer can be filled."]
    tolerance: Annotated[Tolerance, "What absences the team stands."]
    critical_absences: Annotated[tuple[PersonId, ...], "One smallest set of people whose absence breaks something."]
    pairs_breaking: Annotated[PairsBreaking, "How many pairs of absences break something."]
    triples_breaking: Annotated[TriplesBreaking, "How many triples of absences break something."]
    leaving: Annotated[tuple[PersonId, ...], "People taken as leaving because the question said so."]
    after_leaving: Annotated[AfterLeaving | None, "The same without them; null when nobody was named."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def compute_staffing(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    away: frozenset[PersonId] = frozenset(),
    leaving: frozenset[PersonId] = frozenset(),
) -> StaffingResult:
    """Return how the slots of a team can be filled by those present, what is too scarce, and what the team stands.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
    away : frozenset of str
        People taken as absent on top of the recorded absences.
    leaving : frozenset of str
        People without whom the tolerance is told once more.

    Returns
    -------
    StaffingResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` or `leaving` names someone who does not exist.

    Notes
    -----
    A maximum matching, O(slots x able pairs), then one for each kind of slot; who cannot be spared takes one pass over
    alternating paths.

    References
    ----------
    .. [1] Dulmage & Mendelsohn (1958), Canadian Journal of Mathematics 10, 517-534.
    .. [2] Hall (1935), Journal of the London Mathematical Society 10, 26-30.
    """
    presence = get_presence(snapshot, team_id, on, away)
    scopes, slots, matching = _match(presence)
    manned_places, manned_needs = [], []
    for slot, person in zip(slots, matching.person_of, strict=True):
        if person is None:
            continue
        if slot.place is not None:
            manned_places.append(MannedPlace(slot.place, person, slot.shift))
        elif slot.need is not None:
            need = slot.need
            manned_needs.append(MannedNeed(need.competency, need.level, slot.shift, need.together, person))
    empty = [slots[index] for index in matching.empty_slots]
    competing_indices, too_few = find_over_demanded(matching)
    competing = [slots[index] for index in competing_indices]
    stands = _compute_endurance(presence, scopes, slots, matching)
    return StaffingResult(
        team=team_id,
        on=on,
        away=presence.away,
        places=sum(slot.place is not None for slot in slots),
        filled=len(manned_places),
        together_slots=sum(slot.need is not None for slot in slots),
        together_filled=len(manned_needs),
        assignment=tuple(manned_places),
        together_assignment=tuple(manned_needs),
        trainees=_find_trainees(presence, manned_places, matching),
        unfilled=tuple(slot.place for slot in empty if slot.place is not None),
        unfilled_needs=count_by_need(empty),
        unfilled_before=_find_unfilled_before(presence, slots, matching),
        bottleneck=Bottleneck(
            places=tuple(slot.place for slot in competing if slot.place is not None),
            needs=count_by_need(competing),
            people=tuple(too_few),
        ),
        closest=find_closest(presence, empty, matching.slot_of),
        only_one_can=_get_only_ones(slots),
        cannot_be_spared=tuple(sorted(find_essential_people(matching))),
        tolerance=stands.tolerance,
        critical_absences=stands.critical_absences,
        pairs_breaking=stands.pairs_breaking,
        triples_breaking=stands.triples_breaking,
        leaving=tuple(sorted(leaving)),
        after_leaving=_compute_after_leaving(get_presence(snapshot, team_id, on, away | leaving)) if leaving else None,
        remarks=tuple(get_place_remarks(presence)),
    )


def _match(presence: Presence) -> tuple[list[NeedScope], list[Slot], Matching]:
    scopes = build_need_scopes(presence)
    slots = build_slots(presence, scopes)
    return scopes, slots, find_matching([slot.able for slot in slots])


def _find_unfilled_before(presence: Presence, slots: list[Slot], matching: Matching) -> tuple[str, ...]:
    """Return the places of the slots that stay empty where nobody is asked to be taken as absent."""
    if presence.away:
        _, slots, matching = _match(get_presence(presence.snapshot, presence.team, presence.on))
    empty = (slots[index] for index in matching.empty_slots)
    return tuple(slot.place for slot in empty if slot.place is not None)


def _compute_after_leaving(presence: Presence) -> AfterLeaving:
    return _compute_endurance(presence, *_match(presence))


def _compute_endurance(
    presence: Presence, scopes: list[NeedScope], slots: list[Slot], matching: Matching
) -> AfterLeaving:
    """Return what a team stands with the people present."""
    filled = sum(slots[index].place is not None for index in matching.slot_of.values())
    tolerance, critical = compute_tolerance(scopes, slots, matching)
    holding = [scope for scope in scopes if not scope.is_short]
    pairs, triples = count_breaking(holding, matching, sorted(presence.present_ids))
    return AfterLeaving(
        filled=filled,
        together_filled=matching.size - filled,
        tolerance=tolerance,
        critical_absences=critical,
        pairs_breaking=pairs,
        triples_breaking=triples,
    )


def _find_trainees(presence: Presence, manned: list[MannedPlace], matching: Matching) -> tuple[Trainee, ...]:
    fillers: dict[str, list[str]] = {}
    for row in manned:
        fillers.setdefault(row.place, []).append(row.person)
    return find_trainees(presence, fillers, matching.slot_of.keys())


def _get_only_ones(slots: list[Slot]) -> tuple[OnlyOne, ...]:
    found = [OnlyOne(slot.place, slot.shift, slot.able[0]) for slot in slots if slot.place and len(slot.able) == 1]
    return tuple(dict.fromkeys(found))
