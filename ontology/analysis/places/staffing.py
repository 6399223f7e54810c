"""Who mans what, and what falls without whom: all places and `together` needs of a team at once. Pure."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from typing import Annotated

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.places.absence_counts import PairsBreaking, TriplesBreaking, count_breaking
from ontology.analysis.places.bottleneck import Matching, find_essential_people
from ontology.analysis.places.closest import ClosestPerson, find_closest
from ontology.analysis.places.filling import FilledPlaces, Filling, fill_places, tell_filled_places
from ontology.analysis.places.tolerance import Tolerance, compute_tolerance
from ontology.analysis.places.trainees import Trainee, find_trainees
from ontology.model.identity import PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AfterLeaving", "StaffingResult", "compute_staffing"]


@dataclass(frozen=True, slots=True)
class AfterLeaving:
    """What the team would stand without some people for good; fields as in `StaffingResult`."""

    filled: Annotated[PeopleCount, "Slots of places filled at the most."]
    together_filled: Annotated[PeopleCount, "Slots of needs of a group filled."]
    tolerance: Annotated[Tolerance, "What absences the team would stand then."]
    critical_absences: Annotated[
        tuple[PersonId, ...], "One smallest set of people whose absence would break something then."
    ]
    pairs_breaking: Annotated[PairsBreaking, "How many pairs of absences would."]
    triples_breaking: Annotated[TriplesBreaking, "How many triples of absences would."]


@dataclass(frozen=True, slots=True)
class StaffingResult(FilledPlaces):
    """How the slots are filled, and what would no longer be without whom."""

    trainees: Annotated[tuple[Trainee, ...], "Who may learn at a place beside those who fill it: no cover."]
    closest: Annotated[
        tuple[ClosestPerson, ...], "Who lacks least for the slots that stay empty, all of them taken together."
    ]
    cannot_be_spared: Annotated[tuple[PersonId, ...], "Everyone without whom one slot fewer can be filled."]
    tolerance: Annotated[Tolerance, "What absences the team stands."]
    critical_absences: Annotated[tuple[PersonId, ...], "One smallest set of people whose absence breaks something."]
    pairs_breaking: Annotated[PairsBreaking, "How many pairs of absences break something."]
    triples_breaking: Annotated[TriplesBreaking, "How many triples of absences break something."]
    leaving: Annotated[tuple[PersonId, ...], "People taken as leaving because the question said so."]
    after_leaving: Annotated[AfterLeaving | None, "The same without them; null when nobody was named."]


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
    filling = fill_places(presence)
    filled = tell_filled_places(presence, filling)
    stands = _compute_endurance(presence, filling)
    return StaffingResult(
        **{field.name: getattr(filled, field.name) for field in fields(filled)},
        trainees=_find_trainees(presence, filled, filling.matching),
        closest=find_closest(presence, filling.empty, filling.matching.slot_of),
        cannot_be_spared=tuple(sorted(find_essential_people(filling.matching))),
        tolerance=stands.tolerance,
        critical_absences=stands.critical_absences,
        pairs_breaking=stands.pairs_breaking,
        triples_breaking=stands.triples_breaking,
        leaving=tuple(sorted(leaving)),
        after_leaving=_compute_after_leaving(get_presence(snapshot, team_id, on, away | leaving)) if leaving else None,
    )


def _compute_after_leaving(presence: Presence) -> AfterLeaving:
    return _compute_endurance(presence, fill_places(presence))


def _compute_endurance(presence: Presence, filling: Filling) -> AfterLeaving:
    """Return what a team stands with the people present."""
    scopes, slots, matching = build_need_scopes(presence), filling.slots, filling.matching
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


def _find_trainees(presence: Presence, filled: FilledPlaces, matching: Matching) -> tuple[Trainee, ...]:
    fillers: dict[str, list[str]] = {}
    for row in filled.assignment:
        fillers.setdefault(row.place, []).append(row.person)
    return find_trainees(presence, fillers, matching.slot_of.keys())
