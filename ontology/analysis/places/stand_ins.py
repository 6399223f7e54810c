"""Who can stand in for someone, or for a need: own team first, then people of other teams, none of them absent. Pure.

May import coverage, presence, slots, holders, single points and the snapshot. The order is that of teams and ids: no
ranking of people.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from ontology.analysis.cover.coverage import CoverState, NeedScope, build_need_scopes
from ontology.analysis.cover.holders import LevelBasis, get_assessed_people, iterate_holders, make_level_basis
from ontology.analysis.cover.presence import Presence, get_presence, is_absent, is_employed
from ontology.analysis.places.holding import FallenNeed
from ontology.analysis.places.single_points import SinglePoint, find_single_points_of_failure
from ontology.analysis.places.slots import is_able
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot
from ontology.records import Person, Place

__all__ = ["NeedStandIns", "PlaceStandIns", "StandIn", "StandInsResult", "find_stand_ins"]


@dataclass(frozen=True, slots=True)
class StandIn:
    """Someone who qualifies and is there on the day.

    Attributes
    ----------
    person, team : str
    shift : str or None
    is_own_team : bool
    counts_already : bool
        Whether they are in the need's depth, or among the shift's people for the place, already: then standing in adds
        nobody, it keeps the need met.
    levels : tuple of LevelBasis
        What they hold of what is asked, with source and date.
    leaves_needs, leaves_places : tuple of FallenNeed, tuple of str
        What of their own team, or of their own shift where they are of the same team, would be short without them.
    """

    person: str
    team: str
    shift: str | None
    is_own_team: bool
    counts_already: bool
    levels: tuple[LevelBasis, ...]
    leaves_needs: tuple[FallenNeed, ...]
    leaves_places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeedStandIns:
    """A need where it counts, and who could stand in.

    `depth` is that of the day, `depth_without` that without the person asked about; `found` counts all who qualify,
    `stand_ins` holds the first of them.
    """

    competency: str
    level: int
    applies: str
    shift: str | None
    minimum: int
    depth: int
    state: CoverState
    depth_without: int
    is_short_without: bool
    found: int
    stand_ins: tuple[StandIn, ...]


@dataclass(frozen=True, slots=True)
class PlaceStandIns:
    """A place the person is able to fill; `is_empty_without` where one slot more could not be filled without them."""

    place: str
    role: str
    shift: str | None
    count: int
    is_empty_without: bool
    found: int
    stand_ins: tuple[StandIn, ...]


@dataclass(frozen=True, slots=True)
class StandInsResult:
    """Who can stand in: for everything a person counts for, or for one need."""

    team: str
    on: date
    away: tuple[str, ...]
    person: str | None
    competency: str | None
    level: int | None
    needs: tuple[NeedStandIns, ...]
    places: tuple[PlaceStandIns, ...]
    remarks: tuple[str, ...]


def find_stand_ins(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    person_id: str | None = None,
    competency_id: str | None = None,
    level: int | None = None,
    away: frozenset[str] = frozenset(),
    limit: int = 50,
) -> StandInsResult:
    """Return who can stand in for a member of a team, or for one of its needs.

    Parameters
    ----------
    snapshot : Snapshot
    team_id : str
    on : date
    person_id : str or None
        A member: every need they are qualified for, and every place they are able to fill, is looked at.
    competency_id : str or None
        Instead of a person: the needs of the team for this competency.
    level : int or None
        With a competency: only the needs at this level.
    away : frozenset of str
        People taken as absent on top of the recorded absences.
    limit : int
        Most people told for each need or place.

    Returns
    -------
    StandInsResult
        People by team (the own one first), then id.

    Raises
    ------
    UnknownIdError
        There is no such team, person or competency.
    InputError
        Not exactly one of person and competency is given, the person is no member that day, or the team has no such
        need.

    Notes
    -----
    O(needs x people with an assessment of the competency), and one look at single points for every team told of.
    """
    presence = get_presence(snapshot, team_id, on, away)
    if (person_id is None) == (competency_id is None):
        raise InputError("Ask either for a person or for a competency, not for both or neither.", parameter="person")
    if level is not None and competency_id is None:
        raise InputError("A level goes with a competency.", parameter="level")
    if person_id is not None:
        snapshot.require_person(person_id)
        if all(member.id != person_id for member in presence.members):
            raise InputError(f"{person_id} is no member of {team_id} on {on}.", parameter="person", value=person_id)
    search = _Search(presence, person_id, limit)
    scopes = [scope for scope in build_need_scopes(presence) if _is_asked(scope, person_id, competency_id, level)]
    if competency_id is not None:
        snapshot.require_competency(competency_id)
        if not scopes:
            wanted = competency_id if level is None else f"{competency_id} at level {level}"
            raise InputError(f"{team_id} has no need of {wanted}.", parameter="competency", value=competency_id)
    places = [] if person_id is None else _get_places(presence, person_id)
    return StandInsResult(
        team=team_id,
        on=on,
        away=presence.away,
        person=person_id,
        competency=competency_id,
        level=level,
        needs=tuple(search.find_for_need(scope) for scope in scopes),
        places=tuple(search.find_for_place(place) for place in places),
        remarks=tuple(search.remarks),
    )


def _is_asked(scope: NeedScope, person_id: str | None, competency_id: str | None, level: int | None) -> bool:
    if person_id is not None:
        return person_id in scope.qualified
    return scope.need.competency == competency_id and level in (None, scope.need.level)


def _get_places(presence: Presence, person_id: str) -> list[Place]:
    shift = presence.snapshot.people[person_id].shift
    return [
        place
        for place in presence.snapshot.get_places(presence.team)
        if place.shift in ("", shift) and is_able(presence, person_id, place.role)
    ]


class _Search:
    """Looks for stand-ins of one question; what a team would lack is worked out once for each team."""

    def __init__(self, presence: Presence, person_id: str | None, limit: int) -> None:
        self._presence = presence
        self._snapshot = presence.snapshot
        self._person_id = person_id
        self._limit = limit
        self._points: dict[str, dict[str, SinglePoint]] = {}
        self.remarks: list[str] = []

    def find_for_need(self, scope: NeedScope) -> NeedStandIns:
        need = scope.need
        holders = iterate_holders(self._snapshot, need.competency, need.level, self._presence.on, self._presence.away)
        people = self._order(person for person, _ in holders)
        without = sum(present != self._person_id for present in scope.present)
        return NeedStandIns(
            competency=need.competency,
            level=need.level,
            applies=need.applies,
            shift=scope.shift,
            minimum=need.minimum,
            depth=scope.depth,
            state=scope.state,
            depth_without=without,
            is_short_without=without < need.minimum,
            found=len(people),
            stand_ins=tuple(
                self._describe(person, scope.shift, person.id in scope.present, [need.competency])
                for person in people[: self._limit]
            ),
        )

    def find_for_place(self, place: Place) -> PlaceStandIns:
        asked = [r.competency for r in self._snapshot.get_requirements(place.role) if r.necessity != "desirable"]
        shift = place.shift or None
        people = self._order(self._iterate_able(place.role, asked))
        if not asked:
            self.remarks.append(f"Place {place.id} asks for nothing blocking or essential: only the team is listed.")
        point = self._get_points(self._presence.team).get(self._person_id or "")
        return PlaceStandIns(
            place=place.id,
            role=place.role,
            shift=shift,
            count=place.count,
            is_empty_without=point is not None and place.id in point.places,
            found=len(people),
            stand_ins=tuple(
                self._describe(person, shift, self._is_in_scope(person, shift), asked)
                for person in people[: self._limit]
            ),
        )

    def _iterate_able(self, role_id: str, asked: list[str]) -> Iterable[Person]:
        """Yield who is there and able to do a role, everyone in the company but for a role that asks for nothing."""
        if not asked:
            yield from self._presence.present
            return
        ids = min((get_assessed_people(self._snapshot, competency) for competency in asked), key=len)
        on = self._presence.on
        for person_id in ids:
            person = self._snapshot.people[person_id]
            if person_id in self._presence.away or not is_employed(person, on):
                continue
            if not is_absent(self._snapshot, person_id, on) and is_able(self._presence, person_id, role_id):
                yield person

    def _order(self, people: Iterable[Person]) -> list[Person]:
        own = self._presence.team
        others = (person for person in people if person.id != self._person_id)
        return sorted(others, key=lambda person: (person.team != own, person.team, person.id))

    def _is_in_scope(self, person: Person, shift: str | None) -> bool:
        return person.team == self._presence.team and shift in (None, person.shift)

    def _describe(self, person: Person, shift: str | None, counts: bool, asked: list[str]) -> StandIn:
        known = (get_level(self._snapshot, person.id, self._snapshot.competencies[c], self._presence.on) for c in asked)
        needs, places = self._get_left(person, shift)
        return StandIn(
            person=person.id,
            team=person.team,
            shift=person.shift or None,
            is_own_team=person.team == self._presence.team,
            counts_already=counts,
            levels=tuple(basis for basis in map(make_level_basis, known) if basis is not None),
            leaves_needs=needs,
            leaves_places=places,
        )

    def _get_left(self, person: Person, shift: str | None) -> tuple[tuple[FallenNeed, ...], tuple[str, ...]]:
        """Return what falls where someone comes from: their team, or only their shift where they stay in the team."""
        if not person.team:
            return (), ()
        point = self._get_points(person.team).get(person.id)
        if point is None:
            return (), ()
        if person.team != self._presence.team:
            return point.needs, point.places
        if shift is None or not person.shift or person.shift == shift:
            return (), ()
        return (
            tuple(need for need in point.needs if need.shift == person.shift),
            tuple(p for p in point.places if self._snapshot.places[p].shift == person.shift),
        )

    def _get_points(self, team_id: str) -> dict[str, SinglePoint]:
        if team_id not in self._points:
            away = frozenset(self._presence.away)
            found = find_single_points_of_failure(self._snapshot, team_id, self._presence.on, away)
            self._points[team_id] = {point.id: point for point in found.people}
        return self._points[team_id]
