"""Learning paths with everything that can be asked of them, by trying every set of courses: read from the text.

Uses the records and the Snapshot only, none of the analysis, so that a shared mistake cannot hide.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from brute_routes import Learner, cents, minutes, take

from ontology.model.records import Course
from ontology.snapshot.snapshot import Snapshot

Value = tuple[Fraction, ...]


@dataclass(frozen=True)
class Attempt:
    """A set of new courses that can be taken in some order with the booked ones, and the levels afterwards."""

    courses: tuple[Course, ...]
    levels: Mapping[str, int]

    @property
    def ids(self) -> tuple[str, ...]:
        """Sorted course ids."""
        return tuple(sorted(course.id for course in self.courses))


def get_weeks(learner: Learner, courses: Iterable[Course]) -> Fraction:
    """Return the courses' own weeks, or their hours at the learner's pace (4 h a week where there is none)."""
    pace = Fraction(str(learner.pace if learner.pace > 0 else 4.0))
    return sum(
        (
            Fraction(str(course.weeks)) if course.weeks is not None else Fraction(round(course.hours * 60), 60) / pace
            for course in courses
        ),
        Fraction(0),
    )


def get_value(learner: Learner, courses: tuple[Course, ...], minimise: str) -> Value:
    """Return the aims in their order."""
    hours, cost, count = Fraction(minutes(courses)), Fraction(cents(courses)), Fraction(len(courses))
    return {
        "hours": (hours, cost, count),
        "cost": (cost, hours, count),
        "courses": (count, hours, cost),
        "weeks": (get_weeks(learner, courses), hours, cost, count),
    }[minimise]


def iterate_attempts(
    snapshot: Snapshot,
    learner: Learner,
    exclude: AbstractSet[str] = frozenset(),
    booked: AbstractSet[str] = frozenset(),
) -> Iterator[Attempt]:
    """Yield every set of new courses all of which can be taken; booked ones are taken whenever they can be."""
    free = [snapshot.courses[i] for i in sorted(booked)]
    others = [course for course in snapshot.courses.values() if course.id not in exclude | booked]
    for size in range(len(others) + 1):
        for chosen in itertools.combinations(others, size):
            levels = dict(learner.levels)
            waiting = [*chosen, *free]
            while True:
                later = [course for course in waiting if not take(snapshot, learner, levels, course)]
                if len(later) == len(waiting):
                    break
                waiting = later
            if all(course.id in booked for course in waiting):
                yield Attempt(chosen, levels)


def get_readiness(requirements: Iterable[Any], levels: Mapping[str, int]) -> Fraction:
    """Return the share of a role's weights that is met, partial levels counted in part."""
    rows = list(requirements)
    met = sum(
        (Fraction(str(r.weight)) * min(Fraction(1), Fraction(levels.get(r.competency, 0), r.level)) for r in rows),
        Fraction(0),
    )
    return met / sum((Fraction(str(r.weight)) for r in rows), Fraction(0))


def find_best(
    attempts: Iterable[Attempt], learner: Learner, targets: Mapping[str, int], minimise: str
) -> tuple[Value, tuple[str, ...]] | None:
    """Return the best value and ids of the attempts that reach all targets."""
    return min(
        (
            (get_value(learner, attempt.courses, minimise), attempt.ids)
            for attempt in attempts
            if all(attempt.levels.get(i, 0) >= level for i, level in targets.items())
        ),
        default=None,
    )


def find_largest_readiness(
    attempts: Iterable[Attempt], learner: Learner, requirements: Iterable[Any], minimise: str
) -> tuple[Fraction, Value, tuple[str, ...]]:
    """Return the largest readiness; of those the best value, then ids."""
    rows = list(requirements)
    best = min(
        (-get_readiness(rows, attempt.levels), get_value(learner, attempt.courses, minimise), attempt.ids)
        for attempt in attempts
    )
    return -best[0], best[1], best[2]


def find_irredundant(attempts: Iterable[Attempt], targets: Mapping[str, int]) -> list[Attempt]:
    """Return the attempts that reach all targets and of which no course can be left out."""
    reaching = [a for a in attempts if all(a.levels.get(i, 0) >= level for i, level in targets.items())]
    sets = {frozenset(attempt.ids) for attempt in reaching}
    return [a for a in reaching if not any(other < frozenset(a.ids) for other in sets)]


def is_within(courses: Iterable[Course], max_hours: float | None, max_cost: float | None) -> bool:
    """Whether a budget pays for the courses."""
    chosen = list(courses)
    return (max_hours is None or Fraction(minutes(chosen), 60) <= Fraction(str(max_hours))) and (
        max_cost is None or Fraction(cents(chosen), 100) <= Fraction(str(max_cost))
    )
