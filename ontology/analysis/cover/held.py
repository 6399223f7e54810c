"""How many people hold a competency on a date, level by level: figures, no names. Pure."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from ontology.analysis.cover.holders import get_assessed_people
from ontology.analysis.cover.presence import is_employed
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.model.identity import CountOf, PeopleCount, PeopleOfPart
from ontology.snapshot.snapshot import Snapshot

__all__ = ["HeldCompetency", "HeldLevel", "count_holders"]


@dataclass(frozen=True, slots=True)
class HeldLevel:
    """A level of the scale, and how many people hold it."""

    level: Annotated[int, "The level."]
    people: Annotated[PeopleOfPart, "People whose level that counts is this one."]
    or_higher: Annotated[int, CountOf(rows="sums"), "People at this level or a higher one."]


@dataclass(frozen=True, slots=True)
class HeldCompetency:
    """How many of those employed on a day hold a competency."""

    competency: Annotated[str, "Id of the competency."]
    on: Annotated[date, "The day asked about."]
    holders: Annotated[PeopleCount, "People employed that day at level 1 or higher."]
    review_due: Annotated[
        int, CountOf(of="holders"), "How many of them are due for a review: the level counts, but wants a fresh look."
    ]
    levels: Annotated[tuple[HeldLevel, ...], "Each level of the scale, the lowest first."]


def count_holders(snapshot: Snapshot, competency_id: str, on: date) -> HeldCompetency:
    """Return how many people hold a competency on a date.

    Who is employed that day counts, absent or not, appointed or not: this is what is held, not who covers anything.

    Raises
    ------
    UnknownIdError
        There is no such competency.

    Notes
    -----
    O(people with an assessment of the competency, or of what counts as it).
    """
    competency = snapshot.require_competency(competency_id)
    ranks: Counter[int] = Counter()
    review_due = 0
    for person_id in get_assessed_people(snapshot, competency_id):
        if is_employed(get_person_on(snapshot, person_id, on), on):
            known = get_level(snapshot, person_id, competency, on)
            if known.level:
                ranks[known.level] += 1
                review_due += known.state == "review-due"
    steps = [step.rank for step in snapshot.scales.get(competency.scale, ())]
    levels = [HeldLevel(step, ranks[step], sum(n for rank, n in ranks.items() if rank >= step)) for step in steps]
    return HeldCompetency(competency_id, on, ranks.total(), review_due, tuple(levels))
