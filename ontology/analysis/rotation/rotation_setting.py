"""From a team and a question to a rotation problem with the names of its numbers. Pure.

May import rotation_abilities, rotation_wishes, rotation_problem, rotation_question, slots, the snapshot and errors.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.analysis.places.slots import get_place_remarks
from ontology.analysis.rotation.rotation_abilities import Abilities
from ontology.analysis.rotation.rotation_problem import RotationProblem
from ontology.analysis.rotation.rotation_question import RotationQuestion, get_dates, require_consistent
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


def build_setting(snapshot: Snapshot, team_id: str, question: RotationQuestion) -> RotationSetting:
    """Return the problem of a question about a team.

    Raises
    ------
    UnknownIdError
        There is no such team, person or place.
    InputError
        Parts of the question contradict each other or the team, or it is too large.

    Notes
    -----
    O(intervals x people x roles x requirements).
    """
    dates = get_dates(question)
    require_consistent(question, len(dates))
    snapshot.require_team(team_id)
    places = _get_places(snapshot, team_id, question)
    people = _get_people(snapshot, team_id, question)
    if len(people) * len(places) * len(dates) > _MOST_CHOICES:
        raise InputError(
            f"{len(people)} people, {len(places)} places and {len(dates)} intervals are too many for one rotation: "
            "name fewer people or intervals.",
            parameter="people",
        )
    abilities = Abilities(snapshot, team_id, question, people, places, dates)
    goals = build_goals(abilities) if question.purpose == "learn" else ()
    practices = build_practices(abilities) if question.purpose == "keep-current" else ()
    problem = RotationProblem(
        intervals=len(dates),
        slots=tuple(place.count for place in places),
        strain=tuple(place.strain for place in places),
        able=tuple(abilities.able),
        goals=goals,
        practices=practices,
        minimum_stay=question.minimum_stay,
        maximum_stay=len(dates) if question.maximum_stay is None else question.maximum_stay,
        has_least_strain=question.purpose == "relieve-strain",
    )
    remarks = (*get_place_remarks(abilities.days[0][0]), *abilities.remarks)
    return RotationSetting(problem, people, places, dates, abilities, remarks)


def _get_places(snapshot: Snapshot, team_id: str, question: RotationQuestion) -> tuple[Place, ...]:
    places = snapshot.get_places(team_id)
    unknown = question.places - {place.id for place in places}
    if unknown:
        raise InputError(f"{min(unknown)} is no place of team {team_id}.", parameter="places", value=min(unknown))
    return tuple(place for place in places if not question.places or place.id in question.places)


def _get_people(snapshot: Snapshot, team_id: str, question: RotationQuestion) -> tuple[Person, ...]:
    members = snapshot.get_members(team_id)
    ids = {person.id for person in members}
    for person_id in sorted(question.people | {learner for learner, _ in question.learners}):
        snapshot.require_person(person_id)
        if person_id not in ids:
            raise InputError(f"{person_id} is no member of team {team_id}.", parameter="people", value=person_id)
    strangers = {learner for learner, _ in question.learners} - (question.people or ids)
    if strangers:
        raise InputError(
            f"{min(strangers)} shall learn, but does not take part.", parameter="learners", value=min(strangers)
        )
    return tuple(person for person in members if not question.people or person.id in question.people)
