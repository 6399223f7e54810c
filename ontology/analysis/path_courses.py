"""What each course of a path is there for: the targets it serves and the courses it makes possible. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ontology.analysis.catalogue import Fact, Offer
from ontology.analysis.levels import Profile
from ontology.graph.snapshot import Snapshot

__all__ = ["PathCourse", "describe_courses"]


@dataclass(frozen=True, slots=True)
class PathCourse:
    """One course of a path.

    `serves` holds the target competencies it reaches itself or through the courses it makes possible; `enables` the
    courses of the path that ask for a level it gives. Hours are the learner's; `coach_hours` a coach's.
    """

    id: str
    label: str
    study_hours: float
    cost: float
    coach_hours: float
    serves: tuple[str, ...]
    enables: tuple[str, ...]


def describe_courses(
    snapshot: Snapshot, profile: Profile, offers: Sequence[Offer], goals: frozenset[Fact]
) -> tuple[PathCourse, ...]:
    """Return the courses of a path in order, with what each serves and enables (worked out from the last back)."""
    serves: dict[str, frozenset[str]] = {}
    rows: list[PathCourse] = []
    for position in range(len(offers) - 1, -1, -1):
        offer = offers[position]
        enabled = [later for later in offers[position + 1 :] if _is_enabled(profile, offer, later)]
        own = frozenset(i for i, level in goals if any(i == j and reached >= level for j, reached in offer.effects))
        serves[offer.id] = own.union(*(serves[later.id] for later in enabled))
        course = snapshot.courses[offer.id]
        rows.append(
            PathCourse(
                id=offer.id,
                label=course.label,
                study_hours=offer.minutes / 60,
                cost=offer.cents / 100,
                coach_hours=course.coach_hours,
                serves=tuple(sorted(serves[offer.id])),
                enables=tuple(later.id for later in enabled),
            )
        )
    return tuple(reversed(rows))


def _is_enabled(profile: Profile, earlier: Offer, later: Offer) -> bool:
    """Whether the later course asks for a level above the profile that the earlier one gives."""
    effects = dict(earlier.effects)
    return any(profile.get(i) < asked <= effects.get(i, 0) for i, asked in later.conditions)
