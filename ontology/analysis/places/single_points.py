"""People whose absence alone makes something fall that holds now. Pure.

May import presence and holding. A fault of the organisation, not of the person.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.holding import FallenNeed, build_holding
from ontology.analysis.places.slots import TogetherNeed
from ontology.model.identity import PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SinglePoint", "SinglePointsResult", "find_single_points_of_failure"]


@dataclass(frozen=True, slots=True)
class SinglePoint:
    """Whose absence, and what would fall with it."""

    id: Annotated[PersonId, "Id of the person."]
    needs: Annotated[tuple[FallenNeed, ...], "Needs that would be short."]
    places: Annotated[tuple[str, ...], "The place that staffing would leave empty: one slot at the most."]
    together: Annotated[tuple[TogetherNeed, ...], "The need of a group one slot of which would be empty."]


@dataclass(frozen=True, slots=True)
class SinglePointsResult:
    """Every single point of failure of a team on a date, by id; who is absent already cannot be one."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    people: Annotated[tuple[SinglePoint, ...], "By id."]


def find_single_points_of_failure(
    snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()
) -> SinglePointsResult:
    """Return everyone whose absence alone makes a need short that was not, or leaves a slot empty that was filled.

    Parameters
    ----------
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
    A need falls with each of its people when its depth is its minimum, a slot with everyone who is in each maximum
    matching of slots to people; which one see `Holding.find_broken`. One matching more for each of these.
    """
    presence = get_presence(snapshot, team_id, on, away)
    holding = build_holding(presence)
    people = []
    for person_id in sorted(holding.leaning_people):
        fallen = holding.find_broken({person_id})
        people.append(SinglePoint(person_id, fallen.needs, fallen.places, fallen.together))
    return SinglePointsResult(team_id, on, presence.away, tuple(people))
