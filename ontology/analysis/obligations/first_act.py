"""What to do first about something that must be held and is not, or will not be: restore, assess, renew, learn."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from ontology.analysis.paths.aims import get_cents, get_minutes
from ontology.analysis.paths.renewing import can_use_outcome
from ontology.analysis.profiles.levels import find_ways, get_levels
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Competency, Course
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Act", "FirstAct", "find_first_act"]

Act = Literal["restore", "assess", "renew", "learn", "none"]

#: States after which it is not known how much is still there: to be assessed before anything is taught.
_TO_ASSESS: Final = ("not-assessed", "review-due", "lapsed")


@dataclass(frozen=True, slots=True)
class FirstAct:
    """What to do first, and the course to renew or learn by."""

    act: Act
    course: Course | None = None


def find_first_act(
    known: Snapshot, person_id: str, competency: Competency, level: int, on: date, day: date
) -> FirstAct:
    """Return what to do first.

    Parameters
    ----------
    known : Snapshot
        With what is dated up to `on` alone.
    day : date
        On which it is not met: the first such day, or `on` where that is later.

    Notes
    -----
    O(courses that reach the level), and the levels asked of them.
    """
    then = find_ways(known, person_id, competency, day)
    if then.is_suspended and then.gives(level):
        return FirstAct("restore")
    held = find_ways(known, person_id, competency, on).pick(is_forced=True)
    if not competency.is_certificate and (held.state in _TO_ASSESS or (held.level or 0) >= level):
        return FirstAct("assess")
    return _choose_course(known, person_id, held, level, on)


def _choose_course(known: Snapshot, person_id: str, held: LevelOnDate, level: int, on: date) -> FirstAct:
    """Return the single course with the fewest hours, then the least cost, then by id."""
    outcomes = [row for row in known.get_outcomes_of_competency(held.competency) if row.level >= level]
    for outcome in sorted(outcomes, key=lambda row: _rank(known.courses[row.course])):
        course = known.courses[outcome.course]
        if can_use_outcome(outcome, held) and _is_open(known, person_id, course, on):
            return FirstAct("renew" if outcome.renews else "learn", course)
    return FirstAct("none")


def _rank(course: Course) -> tuple[int, int, str]:
    return get_minutes(course.hours), get_cents(course.cost), course.id


def _is_open(known: Snapshot, person_id: str, course: Course, on: date) -> bool:
    """Whether the entry conditions of a course are met on a day."""
    conditions = known.get_entry_conditions(course.id)
    levels = get_levels(known, person_id, [known.competencies[row.competency] for row in conditions], on)
    return all((held.level or 0) >= row.level for held, row in zip(levels, conditions, strict=True))
