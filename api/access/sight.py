"""Whom an actor may be told of by name, and the subject of a right as the Snapshot has it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from api.access.actor import Actor
from api.access.rights import Kind, Right, Verb
from ontology.analysis.profiles.belonging import get_people_of_team, get_person_on
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_person_right", "find_named_people", "find_teams_below", "is_of_standing"]


def build_person_right(
    snapshot: Snapshot, kind: Kind, person: str, on: dt.date, verb: Verb = Verb.SEE, competency: str = ""
) -> Right:
    """Return the right to something of a person; of the teams they belong to on a day, and by their own record."""
    return Right(kind, verb, _find_teams(snapshot, person, on), person, competency)


def _find_teams(snapshot: Snapshot, person: str, on: dt.date) -> frozenset[str]:
    record = snapshot.people.get(person)
    if record is None:
        return frozenset()
    return frozenset(filter(None, (record.team, get_person_on(snapshot, person, on).team)))


def find_named_people(actor: Actor, snapshot: Snapshot, on: dt.date) -> frozenset[str]:
    """Return whom an answer may name: the actor, who is in teams they lead or assess, and whom a purpose is about.

    O(people of these teams).
    """
    purposes = {purpose.team for purpose in actor.purposes if not purpose.person}
    teams = actor.leads | purposes | {team for one in actor.assesses for team in one.teams}
    if actor.scope is not None and actor.scope.teams:
        teams &= actor.scope.teams
    there = (
        person.id
        for team in teams
        if team in snapshot.teams
        for person in get_people_of_team(snapshot, team)
        if team in _find_teams(snapshot, person.id, on)
    )
    named = {purpose.person for purpose in actor.purposes} | {actor.person}
    return frozenset({*there, *named} & snapshot.people.keys())


def find_teams_below(snapshot: Snapshot, teams: Iterable[str]) -> frozenset[str]:
    """Return teams together with all that are part of them. O(teams)."""
    found: set[str] = set()
    new = [team for team in teams if team in snapshot.teams]
    while new:
        team = new.pop()
        if team not in found:
            found.add(team)
            new += [other.id for other in snapshot.teams.values() if other.part_of == team]
    return frozenset(found)


def is_of_standing(snapshot: Snapshot, person: str, role: str | None, on: dt.date) -> bool:
    """Whether a role is the one that a person holds on a day, or one of a place of their team; so is none asked."""
    record = snapshot.people.get(person)
    if record is None:
        return False
    there = get_person_on(snapshot, person, on)
    return (
        not role
        or role in (record.role, there.role)
        or any(place.role == role for team in _find_teams(snapshot, person, on) for place in snapshot.get_places(team))
    )
