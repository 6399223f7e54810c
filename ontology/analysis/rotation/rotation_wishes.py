"""What a rotation shall give: who learns which place, how often everyone practises which role. Pure.

May import rotation_abilities, rotation_problem, closest and errors. What is taken for granted is told in the remarks.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import Final

from ontology.analysis.places.closest import find_missing_levels
from ontology.analysis.rotation.rotation_abilities import Abilities
from ontology.analysis.rotation.rotation_problem import Goal, Practice
from ontology.errors import InputError

__all__ = ["build_goals", "build_practices"]

_DAYS_IN_YEAR: Final = 365.25
_PRACTICE: Final = 1
"""Intervals of practice where nothing else is asked for."""


def build_goals(abilities: Abilities) -> tuple[Goal, ...]:
    """Return who learns what."""
    wanted = abilities.asked.practice or _PRACTICE
    named = sorted(abilities.asked.learners, key=lambda pair: (pair[0], pair[1] or ""))
    numbers = {person.id: number for number, person in enumerate(abilities.people)}
    if not named:
        named = [
            (person.id, None)
            for number, person in enumerate(abilities.people)
            if abilities.there[number] and not abilities.able[number] and _has_places(abilities, number)
        ]
    goals = []
    for person_id, place_id in named:
        number = numbers[person_id]
        place = _find_closest(abilities, number) if place_id is None else _get_place(abilities, number, place_id)
        if place is None:
            _tell_barriers(abilities, number)
            continue
        goals.append(Goal(number, place, wanted, abilities.find_possible(number, place)))
    return tuple(dict.fromkeys(goals))


def _has_places(abilities: Abilities, number: int) -> bool:
    return any(
        abilities.fits(number, place) and abilities.snapshot.get_requirements(record.role)
        for place, record in enumerate(abilities.places)
    )


def _get_place(abilities: Abilities, number: int, place_id: str) -> int:
    found = next((n for n, place in enumerate(abilities.places) if place.id == place_id), None)
    person = abilities.people[number]
    if found is None:
        raise InputError(f"{place_id} is no place of team {abilities.team_id}.", parameter="learners")
    place = abilities.places[found]
    if not abilities.fits(number, found):
        raise InputError(
            f"{person.id} cannot learn {place_id}, a place of another shift ({place.shift}).", parameter="learners"
        )
    if not abilities.snapshot.get_requirements(place.role):
        raise InputError(
            f"{person.id} cannot learn {place_id}: its role {place.role} asks for nothing.", parameter="learners"
        )
    if abilities.there[number] and abilities.there[number] <= abilities.able[number].get(found, frozenset()):
        raise InputError(f"{person.id} need not learn {place_id}: able for it already.", parameter="learners")
    return found


def _find_closest(abilities: Abilities, number: int) -> int | None:
    person = abilities.people[number]
    choices = []
    for place, record in enumerate(abilities.places):
        if not abilities.fits(number, place) or not abilities.snapshot.get_requirements(record.role):
            continue
        possible = abilities.find_possible(number, place)
        if possible and place not in abilities.able[number]:
            missing = find_missing_levels(abilities.days[min(possible)][0], person.id, record.role)
            choices.append((sum(m.gap for m in missing), place))
    return min(choices)[1] if choices else None


def _tell_barriers(abilities: Abilities, number: int) -> None:
    """Say what keeps someone from every place: the fewest blocking competencies, by place."""
    person, first = abilities.people[number], min(abilities.there[number], default=0)
    choices = [
        (len(barriers), record.id, barriers)
        for place, record in enumerate(abilities.places)
        if abilities.fits(number, place) and (barriers := abilities.get_barriers(number, place, first))
    ]
    if choices:
        _, place_id, barriers = min(choices)
        text = (
            f"may not begin at any place: something blocking is missing, the least at {place_id}: {', '.join(barriers)}"
        )
    else:
        text = "is left out: no place of the team or of their shift asks for anything they could learn"
    abilities.remarks.append(f"{person.id} {text}.")


def build_practices(abilities: Abilities) -> tuple[Practice, ...]:
    """Return in how many intervals everyone able holds a place of each role they can do."""
    by_role: defaultdict[str, list[int]] = defaultdict(list)
    for place, record in enumerate(abilities.places):
        by_role[record.role].append(place)
    practices = []
    for role_id, places in sorted(by_role.items()):
        wanted = max(abilities.asked.practice or _PRACTICE, _get_yearly(abilities, role_id))
        for number, able in enumerate(abilities.able):
            own = tuple(place for place in places if place in able)
            when = frozenset[int]().union(*(able[place] for place in own))
            if len(when) < wanted and own:
                name = abilities.people[number].id
                abilities.remarks.append(
                    f"{name} can hold a place of {role_id} in {len(when)} intervals only, {wanted} are wanted."
                )
            if own:
                practices.append(Practice(number, own, min(wanted, len(when))))
    return tuple(practices)


def _get_yearly(abilities: Abilities, role_id: str) -> int:
    """Return how many intervals in a place of a role keep its holder current, by practices a year; 0 if unknown."""
    years = ((abilities.dates[-1][1] - abilities.dates[0][0]).days + 1) / _DAYS_IN_YEAR
    most = 0
    for requirement in abilities.snapshot.get_requirements(role_id):
        yearly = abilities.snapshot.require_competency(requirement.competency).practices_per_year
        if not yearly or requirement.necessity == "desirable":
            continue
        each = _get_practices_per_interval(abilities, role_id, requirement.competency)
        wanted = math.ceil(round(yearly * years / each, 9))
        abilities.remarks.append(
            f"{role_id}: {requirement.competency} wants {yearly:g} practices a year; an interval in the place "
            f"counts as {each:.3g}, so {wanted} intervals."
        )
        most = max(most, wanted)
    return most


def _get_practices_per_interval(abilities: Abilities, role_id: str, competency_id: str) -> float:
    """Return the occasions of the team's need shared by the role's slots; one a week where they are not given."""
    occasions = [
        need.occasions_per_year
        for need in abilities.snapshot.get_cover_needs(abilities.team_id)
        if need.competency == competency_id and need.occasions_per_year
    ]
    weeks = abilities.asked.interval_weeks
    if not occasions:
        return float(weeks)
    slots = sum(place.count for place in abilities.places if place.role == role_id)
    return max(occasions) * 7 * weeks / _DAYS_IN_YEAR / slots
