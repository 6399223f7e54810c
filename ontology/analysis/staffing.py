"""Who mans what: all places and `together` needs of a team at once, by different people. Pure.

May import presence, coverage, slots, bottleneck and tolerance. First as many slots as possible, then as many places
as possible among them, then the slots that come first; the answer is the same whatever the order of the data.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from ontology.analysis.bottleneck import find_matching, get_over_demanded
from ontology.analysis.coverage import build_need_scopes
from ontology.analysis.presence import get_presence
from ontology.analysis.slots import TogetherNeed, build_slots, count_by_need, get_place_remarks
from ontology.analysis.tolerance import PairsBreaking, Tolerance, compute_tolerance
from ontology.graph.snapshot import Snapshot

__all__ = ["Bottleneck", "MannedNeed", "MannedPlace", "StaffingResult", "compute_staffing"]


@dataclass(frozen=True, slots=True)
class MannedPlace:
    """One slot of a place and who fills it; `shift` is None for a team-wide place."""

    place: str
    person: str
    shift: str | None


@dataclass(frozen=True, slots=True)
class MannedNeed:
    """One slot of a need that must be met together with others, and who fills it."""

    competency: str
    level: int
    shift: str | None
    together: str
    person: str


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The slots that compete and everyone able for one of them: fewer people than slots.

    `places` holds a place's id once for every slot of it, `needs` the `together` needs; all empty when all slots
    are filled. Every one of these slots could be among the filled ones; not all of them at once.
    """

    places: tuple[str, ...]
    needs: tuple[TogetherNeed, ...]
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StaffingResult:
    """A team's slots on a date.

    Attributes
    ----------
    places, filled : int
        Slots of places, and how many of them are filled at the most.
    together_slots, together_filled : int
        The same for needs that belong to a group.
    assignment : tuple of MannedPlace
        One of the best assignments, by place; `together_assignment` the same for needs.
    unfilled : tuple of str
        A place's id once for every slot that stays empty; `unfilled_needs` the same for needs, counted.
    bottleneck : Bottleneck
    tolerance : Tolerance
    critical_absences : tuple of str
        One smallest set of people whose absence breaks something that holds now.
    pairs_breaking : PairsBreaking
    remarks : tuple of str
    """

    team: str
    on: date
    away: tuple[str, ...]
    places: int
    filled: int
    together_slots: int
    together_filled: int
    assignment: tuple[MannedPlace, ...]
    together_assignment: tuple[MannedNeed, ...]
    unfilled: tuple[str, ...]
    unfilled_needs: tuple[TogetherNeed, ...]
    bottleneck: Bottleneck
    tolerance: Tolerance
    critical_absences: tuple[str, ...]
    pairs_breaking: PairsBreaking
    remarks: tuple[str, ...]


def compute_staffing(snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()) -> StaffingResult:
    """Return how the slots of a team can be filled by those present, what is too scarce, and what the team stands.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
    away : frozenset of str
        People taken as absent on top of the recorded absences.

    Returns
    -------
    StaffingResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.

    Notes
    -----
    A maximum matching, O(slots x able pairs); the tolerance takes one for each kind of slot and each person.

    References
    ----------
    .. [1] Dulmage & Mendelsohn (1958), Canadian Journal of Mathematics 10, 517-534.
    .. [2] Hall (1935), Journal of the London Mathematical Society 10, 26-30.
    """
    presence = get_presence(snapshot, team_id, on, away)
    scopes = build_need_scopes(presence)
    slots = build_slots(presence, scopes)
    matching = find_matching([slot.able for slot in slots])
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
    competing_indices, too_few = get_over_demanded(matching)
    competing = [slots[index] for index in competing_indices]
    tolerance, critical, pairs = compute_tolerance(scopes, slots, matching, presence.present_ids)
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
        unfilled=tuple(slot.place for slot in empty if slot.place is not None),
        unfilled_needs=count_by_need(empty),
        bottleneck=Bottleneck(
            places=tuple(slot.place for slot in competing if slot.place is not None),
            needs=count_by_need(competing),
            people=tuple(too_few),
        ),
        tolerance=tolerance,
        critical_absences=critical,
        pairs_breaking=pairs,
        remarks=tuple(get_place_remarks(presence)),
    )
