"""What each course of a path brings, the targets it serves, the courses it makes possible. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.paths.catalogue import Fact, Offer
from ontology.analysis.profiles.profile import Profile
from ontology.snapshot.snapshot import Snapshot

__all__ = ["BroughtLevel", "PathCourse", "describe_courses", "is_refreshed", "order_offers"]


@dataclass(frozen=True, slots=True)
class BroughtLevel:
    """A level that a course raises a competency to, from `before` at its turn; `renews`: by a refresher's outcome."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level afterwards."]
    before: Annotated[int, "The level before, at the course's turn."]
    renews: Annotated[bool, "Whether a refresher's outcome brings it."]


@dataclass(frozen=True, slots=True)
class PathCourse:
    """One course of a path.

    `serves` holds the target competencies it reaches itself or through the courses it makes possible; `enables` the
    courses of the path that ask for a level it gives. Hours are the learner's; `coach_hours` a coach's. `weeks` are
    its own, or its hours at the learner's hours a week.
    """

    id: Annotated[str, "Id of the course."]
    label: Annotated[str, "Its label."]
    study_hours: Annotated[float, "Hours of the learner."]
    cost: Annotated[float, "Cost."]
    coach_hours: Annotated[float, "Hours of a coach."]
    weeks: Annotated[float, "Its own weeks; where it names none, its hours at the person's study hours a week."]
    serves: Annotated[tuple[str, ...], "Target competencies it leads to."]
    enables: Annotated[tuple[str, ...], "Later courses of the path that ask for what it gives."]
    brings: Annotated[tuple[BroughtLevel, ...], "The levels it raises, at its turn."]


def order_offers(levels: Mapping[str, int], offers: Iterable[Offer]) -> tuple[list[Offer], dict[str, int]]:
    """Return the offers in an order in which every condition is met, and the levels afterwards.

    Round by round: a round holds those whose conditions were met when it began, by id. Those that can never be taken
    are left out. O(rounds x size).
    """
    reached = dict(levels)
    waiting = sorted(offers, key=lambda offer: offer.id)
    order: list[Offer] = []
    while True:
        turn = [o for o in waiting if all(reached.get(i, 0) >= level for i, level in o.conditions)]
        if not turn:
            return order, reached
        for offer in turn:
            for i, level in offer.effects:
                reached[i] = max(reached.get(i, 0), level)
        order += turn
        taken = {offer.id for offer in turn}
        waiting = [offer for offer in waiting if offer.id not in taken]


def describe_courses(
    snapshot: Snapshot, profile: Profile, offers: Sequence[Offer], goals: frozenset[Fact], pace: float
) -> tuple[PathCourse, ...]:
    """Return the courses of a path in order, with what each brings, serves and enables.

    What they serve is worked out from the last back; `pace` is study hours a week.
    """
    serves: dict[str, frozenset[str]] = {}
    enables: dict[str, tuple[str, ...]] = {}
    for position in range(len(offers) - 1, -1, -1):
        offer = offers[position]
        enabled = [later for later in offers[position + 1 :] if _is_enabled(profile, offer, later)]
        own = frozenset(i for i, level in goals if any(i == j and reached >= level for j, reached in offer.effects))
        serves[offer.id] = own.union(*(serves[later.id] for later in enabled))
        enables[offer.id] = tuple(later.id for later in enabled)
    levels = dict(profile.levels)
    rows: list[PathCourse] = []
    for offer in offers:
        course = snapshot.courses[offer.id]
        rows.append(
            PathCourse(
                id=offer.id,
                label=course.label,
                study_hours=offer.minutes / 60,
                cost=offer.cents / 100,
                coach_hours=course.coach_hours,
                weeks=float(offer.get_weeks(pace)),
                serves=tuple(sorted(serves[offer.id])),
                enables=enables[offer.id],
                brings=_list_brought(snapshot, offer, levels),
            )
        )
        for i, level in offer.effects:
            levels[i] = max(levels.get(i, 0), level)
    return tuple(rows)


def _is_enabled(profile: Profile, earlier: Offer, later: Offer) -> bool:
    """Whether the later course asks for a level above the profile that the earlier one gives."""
    effects = dict(earlier.effects)
    return any(profile.get(i) < asked <= effects.get(i, 0) for i, asked in later.conditions)


def _list_brought(snapshot: Snapshot, offer: Offer, levels: Mapping[str, int]) -> tuple[BroughtLevel, ...]:
    raised = {i: level for i, level in sorted(offer.effects) if level > levels.get(i, 0)}
    return tuple(
        BroughtLevel(i, level, levels.get(i, 0), is_refreshed(snapshot, offer.id, i, level))
        for i, level in raised.items()
    )


def is_refreshed(snapshot: Snapshot, course_id: str, competency_id: str, level: int) -> bool:
    """Whether a course gives a level by a renewing outcome alone."""
    given = [o for o in snapshot.get_outcomes(course_id) if o.competency == competency_id and o.level >= level]
    return bool(given) and all(outcome.renews for outcome in given)
