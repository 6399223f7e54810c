"""From a team and what is asked to a rotation problem with the names of its numbers. Pure.

May import rotation_abilities, rotation_wishes, rotation_problem, rotation_asked, slots, the snapshot and errors.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.analysis.places.slots import get_place_remarks
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_people_of_team, get_person_on
from ontology.analysis.rotation.rotation_abilities import Abilities
from ontology.analysis.rotation.rotation_asked import RotationAsked, get_dates, require_consistent
from ontology.analysis.rotation.rotation_problem import RotationProblem
from ontology.analysis.rotation.rotation_wishes import build_goals, build_practices
from ontology.errors import InputError
from ontology.model.records import Person, Place
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RotationSetting", "build_setting"]

_MOST_CHOICES: Final = 60_000
"""Most (person, place, interval) that are looked at."""


@dataclass(frozen=True)
class RotationSetting:
    """A problem with the names of its numbers; `remarks` tell what was taken for granted."""

    problem: RotationProblem
    people: tuple[Person, ...]
    places: tuple[Place, ...]
    dates: tuple[tuple[date, date], ...]
    abilities: Abilities
    remarks: tuple[str, ...]


def build_setting(snapshot: Snapshot, team_id: str, asked: RotationAsked) -> RotationSetting:
    """Return the problem of what is asked about a team.

    Raises
    ------
    UnknownIdError
        There is no such team, person or place.
    InputError
        Parts of what is asked contradict each other or the team, or it is too large.

    Notes
    -----
    O(intervals x people x roles x requirements).
    """
    dates = get_dates(asked)
    require_consistent(asked, len(dates))
    snapshot.require_team(team_id)
    places = _get_places(snapshot, team_id, asked)
    people = _get_people(snapshot, team_id, asked, dates)
    if len(people) * len(places) * len(dates) > _MOST_CHOICES:
        raise InputError(
            f"{len(people)} people, {len(places)} places and {len(dates)} intervals are too many for one rotation: "
            "name fewer people or intervals.",
            parameter="people",
        )
    abilities = Abilities(snapshot, team_id, asked, people, places, dates)
    goals = build_goals(abilities) if asked.purpose == "learn" else ()
    practices = build_practices(abilities) if asked.purpose == "keep-current" else ()
    problem = RotationProblem(
        intervals=len(dates),
        slots=tuple(place.count for place in places),
        strain=tuple(place.strain for place in places),
        able=tuple(abilities.able),
        goals=goals,
        practices=practices,
        minimum_stay=asked.minimum_stay,
        maximum_stay=len(dates) if asked.maximum_stay is None else asked.maximum_stay,
        has_least_strain=asked.purpose == "relieve-strain",
    )
    remarks = (*get_place_remarks(abilities.days[0][0]), *abilities.remarks)
    return RotationSetting(problem, people, places, dates, abilities, remarks)


def _get_places(snapshot: Snapshot, team_id: str, asked: RotationAsked) -> tuple[Place, ...]:
    places = snapshot.get_places(team_id)
    unknown = asked.places - {place.id for place in places}
    if unknown:
        raise InputError(f"{min(unknown)} is no place of team {team_id}.", parameter="places", value=min(unknown))
    return tuple(place for place in places if not asked.places or place.id in asked.places)


def _find_stay(snapshot: Snapshot, team_id: str, person: Person, dates: Sequence[tuple[date, date]]) -> Person:
    """Return a person as they are when they first belong to the team in a period, or when it begins."""
    begin, end = dates[0][0], dates[-1][1]
    days = [begin, *(day for day in find_days_of_belonging(snapshot, person.id) if begin < day <= end)]
    stays = [get_person_on(snapshot, person.id, day) for day in days]
    return next((stay for stay in stays if stay.team == team_id), stays[0])


def _get_people(
    snapshot: Snapshot, team_id: str, asked: RotationAsked, dates: Sequence[tuple[date, date]]
) -> tuple[Person, ...]:
    members = [_find_stay(snapshot, team_id, person, dates) for person in get_people_of_team(snapshot, team_id)]
    ids = {person.id for person in members}
    for person_id in sorted(asked.people | {learner for learner, _ in asked.learners}):
        snapshot.require_person(person_id)
        if person_id not in ids:
            raise InputError(f"{person_id} is no member of team {team_id}.", parameter="people", value=person_id)
    strangers = {learner for learner, _ in asked.learners} - (asked.people or ids)
    if strangers:
        raise InputError(
            f"{min(strangers)} shall learn, but does not take part.", parameter="learners", value=min(strangers)
        )
    return tuple(person for person in members if not asked.people or person.id in asked.people)
