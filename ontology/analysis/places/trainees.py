"""Who may learn at a team's places beside those who fill them: doubling, never cover. Pure.

Of those present who fill no slot, could start the place's role and are not able to fill it. First as many as possible,
then those whose ids come first, then each, in the order of ids, at the first place that lets all of them learn.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.cover.presence import Presence
from ontology.analysis.places.bottleneck import find_matching
from ontology.analysis.places.slots import is_able
from ontology.model.identity import PersonId
from ontology.model.records import Place

__all__ = ["Trainee", "find_trainees"]


@dataclass(frozen=True, slots=True)
class Trainee:
    """Someone who learns at a place, and who watches over them."""

    place: Annotated[str, "Id of the place."]
    person: Annotated[PersonId, "Who learns there; they fill no slot."]
    supervised_by: Annotated[PersonId, "Who fills the place with the fewest trainees; of equals the first by id."]


def find_trainees(
    presence: Presence, fillers: Mapping[str, Sequence[str]], busy: Collection[str]
) -> tuple[Trainee, ...]:
    """Return who may learn where, by place and person.

    Parameters
    ----------
    fillers : Mapping of place id to sequence of person id
        Who fills its slots.
    busy : collection of str
        Everyone who fills a slot, of a place or a group.

    Returns
    -------
    tuple of Trainee
        At each place at most its `trainees`, and at most `trainees_per_able` for each who fills it.

    Notes
    -----
    One maximum matching, then one for each trainee and place.
    """
    room: dict[str, int] = {}
    for place in presence.snapshot.get_places(presence.team):
        seats = min(place.trainees, place.trainees_per_able * len(fillers.get(place.id, ())))
        if seats:
            room[place.id] = seats
    if not room:
        return ()
    free = [person.id for person in presence.present if person.id not in busy]
    fits = {person: [i for i in room if _fits(presence, person, presence.snapshot.places[i])] for person in free}
    candidates = [person for person in free if fits[person]]
    at = _settle(candidates, fits, room)
    return _supervise(at, fillers)


def _fits(presence: Presence, person_id: str, place: Place) -> bool:
    if all(person.id != person_id for person in presence.get_scope(place.shift or None)):
        return False
    requirements = presence.snapshot.get_requirements(place.role)
    levels = {r.competency: presence.get_level_rank(person_id, r.competency) for r in requirements}
    may_start = all(levels[r.competency] >= r.entry_level for r in requirements if r.necessity != "desirable")
    return bool(requirements) and may_start and not is_able(presence, person_id, place.role)


def _settle(people: Sequence[str], fits: Mapping[str, Sequence[str]], room: Mapping[str, int]) -> dict[str, str]:
    """Return the place of each who is placed: the most, those whose ids come first, each at the first place."""
    seats = {place: [f"{place} {n}" for n in range(count)] for place, count in room.items()}
    able = [[seat for place in fits[person] for seat in seats[place]] for person in people]
    # people are the rows here: the rows that are filled are the first possible ones
    placed = [n for n, seat in enumerate(find_matching(able).person_of) if seat is not None]
    taken: Counter[str] = Counter()
    chosen: dict[str, str] = {}
    for position, n in enumerate(placed):
        for place in sorted(fits[people[n]]):
            if taken[place] == room[place]:
                continue
            taken[place] += 1
            left = {seat for other, own in seats.items() for seat in own[taken[other] :]}
            rest = [[seat for seat in able[m] if seat in left] for m in placed[position + 1 :]]
            if find_matching(rest).size == len(rest):
                chosen[people[n]] = place
                break
            taken[place] -= 1
    return chosen


def _supervise(at: Mapping[str, str], fillers: Mapping[str, Sequence[str]]) -> tuple[Trainee, ...]:
    load: defaultdict[str, Counter[str]] = defaultdict(Counter)
    found = []
    for person, place in sorted(at.items(), key=lambda pair: (pair[1], pair[0])):
        who = min(fillers[place], key=lambda filler: (load[place][filler], filler))
        load[place][who] += 1
        found.append(Trainee(place, person, who))
    return tuple(found)
