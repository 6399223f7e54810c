"""Who can stand in for someone, or for a need: own team first, then people of other teams, none of them absent. Pure.

May import coverage, presence, slots, holders, holding, lending, the rows and the snapshot. The order is that of teams
and ids: no ranking of people.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import date
from typing import Final

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.holders import get_assessed_people, iterate_holders, make_level_basis
from ontology.analysis.cover.presence import Presence, get_presence, is_absent, is_employed
from ontology.analysis.places.holding import Fallen, build_holding
from ontology.analysis.places.lending import Lending
from ontology.analysis.places.slots import Slot, is_able
from ontology.analysis.places.stand_in_rows import (
    NeedStandIns,
    PlaceStandIns,
    StandIn,
    StandInsResult,
    TeamLending,
)
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.model.records import Person, Place
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "STAND_INS_TOLD",
    "NeedStandIns",
    "PlaceStandIns",
    "StandIn",
    "StandInSearch",
    "StandInsResult",
    "find_stand_ins",
]

#: People told for each need or place, unless more are asked for.
STAND_INS_TOLD: Final = 50


def find_stand_ins(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    person_id: str | None = None,
    competency_id: str | None = None,
    level: int | None = None,
    away: frozenset[str] = frozenset(),
    limit: int = STAND_INS_TOLD,
) -> StandInsResult:
    """Return who can stand in for a member of a team, or for one of its needs.

    Parameters
    ----------
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
    O(needs x people with an assessment of the competency), and for every team told of what holds there.
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
    search = StandInSearch(presence, person_id, limit)
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
    shift = get_person_on(presence.snapshot, person_id, presence.on).shift
    return [
        place
        for place in presence.snapshot.get_places(presence.team)
        if place.shift in ("", shift) and is_able(presence, person_id, place.role)
    ]


class StandInSearch:
    """Looks for stand-ins of one question; what holds in a team is worked out once for each team."""

    def __init__(self, presence: Presence, person_id: str | None, limit: int, lending: Lending | None = None) -> None:
        self.presence = presence
        self._snapshot = presence.snapshot
        self._person_id = person_id
        self._limit = limit
        self._lending = lending or Lending(
            lambda team: build_holding(get_presence(self._snapshot, team, presence.on, presence.away))
        )
        self._fallen: dict[str, Fallen] = {}
        self.remarks: list[str] = []

    def find_for_need(self, scope: NeedScope) -> NeedStandIns:
        need = scope.need
        holders = iterate_holders(self._snapshot, need.competency, need.level, self.presence.on, self.presence.away)
        people = self._order(person for person, _ in holders)
        without = sum(present != self._person_id for present in scope.present)

        def describe(person: Person) -> StandIn:
            is_same_slot = self._fills(person, lambda slot: (slot.need, slot.shift) == (need, scope.shift))
            counts = person.id in scope.present
            return self._describe(person, scope.shift, [need.competency], counts=counts, is_same_slot=is_same_slot)

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
            stand_ins=tuple([describe(person) for person in people[: self._limit]]),
            lending=self._find_lending(people),
        )

    def find_for_place(self, place: Place) -> PlaceStandIns:
        asked = [r for r in self._snapshot.get_requirements(place.role) if r.necessity != "desirable"]
        shift = place.shift or None
        people = self._order(self._iterate_able(place.role, [r.competency for r in asked if r.unsupervised_level]))
        if not any(r.unsupervised_level for r in asked):
            self.remarks.append(f"Place {place.id} asks for no blocking or essential level: only the team is listed.")

        def describe(person: Person) -> StandIn:
            is_same_slot = self._fills(person, lambda slot: slot.place == place.id)
            counts = person.team == self.presence.team and shift in (None, person.shift)
            competencies = [r.competency for r in asked]
            return self._describe(person, shift, competencies, counts=counts, is_same_slot=is_same_slot)

        return PlaceStandIns(
            place=place.id,
            role=place.role,
            shift=shift,
            count=place.count,
            is_empty_without=place.id in self._get_fallen(self.presence.team, self._person_id or "").places,
            found=len(people),
            stand_ins=tuple([describe(person) for person in people[: self._limit]]),
            lending=self._find_lending(people),
        )

    def _iterate_able(self, role_id: str, asked: list[str]) -> Iterable[Person]:
        """Yield who is there and able to do a role, everyone in the company but for a role that asks for nothing."""
        if not asked:
            yield from self.presence.present
            return
        ids = min((get_assessed_people(self._snapshot, competency) for competency in asked), key=len)
        on = self.presence.on
        for person_id in ids:
            person = get_person_on(self._snapshot, person_id, on)
            if person_id in self.presence.away or not is_employed(person, on):
                continue
            if not is_absent(self._snapshot, person_id, on) and is_able(self.presence, person_id, role_id):
                yield person

    def _order(self, people: Iterable[Person]) -> list[Person]:
        own = self.presence.team
        others = (person for person in people if person.id != self._person_id)
        return sorted(others, key=lambda person: (person.team != own, person.team, person.id))

    def _describe(
        self, person: Person, shift: str | None, asked: list[str], *, counts: bool, is_same_slot: bool
    ) -> StandIn:
        known = (get_level(self._snapshot, person.id, self._snapshot.competencies[c], self.presence.on) for c in asked)
        is_own_team = person.team == self.presence.team
        fallen = self._get_fallen(person.team, person.id)
        return StandIn(
            person=person.id,
            team=person.team,
            shift=person.shift or None,
            is_own_team=is_own_team,
            is_other_shift=is_own_team and shift is not None and person.shift not in ("", shift),
            counts_already=counts,
            is_same_slot=is_same_slot,
            levels=tuple(basis for basis in map(make_level_basis, known) if basis is not None),
            leaves_needs=fallen.needs,
            leaves_places=fallen.places,
            leaves_together=fallen.together,
        )

    def _fills(self, person: Person, is_meant: Callable[[Slot], bool]) -> bool:
        """Tell whether staffing puts a member of the team on a slot that is meant."""
        holding = self._lending.get_holding(self.presence.team)
        slot = None if holding is None else holding.matching.slot_of.get(person.id)
        return holding is not None and slot is not None and is_meant(holding.slots[slot])

    def _find_lending(self, people: Iterable[Person]) -> tuple[TeamLending, ...]:
        """Return for each other team how many of those who qualify it could lend at once."""
        members: defaultdict[str, list[str]] = defaultdict(list)
        for person in people:
            if person.team not in ("", self.presence.team):
                members[person.team].append(person.id)
        return tuple(
            TeamLending(team, len(members[team]), lent := self._lending.find(team, members[team]), len(lent))
            for team in sorted(members)
        )

    def _get_fallen(self, team_id: str, person_id: str) -> Fallen:
        """Return what falls in a person's own team without them."""
        if person_id not in self._fallen:
            holding = self._lending.get_holding(team_id) if team_id else None
            self._fallen[person_id] = Fallen() if holding is None else holding.find_broken({person_id})
        return self._fallen[person_id]
