"""Which outcomes someone can use, and which courses keep a level that has an end: the one rule of renewal. Pure.

A refresher is for those who hold its level, or lost it no longer ago than the competency allows.
"""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from datetime import date, timedelta

from ontology.analysis.profiles.levels import find_days_of_change, get_level, get_linked
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.profiles.profile import get_restored_level
from ontology.model.records import Outcome
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

__all__ = ["can_use_outcome", "find_keepers", "find_last_day_of_use", "find_renewing_courses"]

_DAY = timedelta(days=1)


def can_use_outcome(outcome: Outcome, known: LevelOnDate) -> bool:
    """Return whether an outcome counts for someone of whom so much is known on the day of the course.

    A renewing one asks for its own level, held (suspended too) or lost lately enough; any other for nothing.
    """
    return not outcome.renews or max(known.level or 0, known.renewable_level) >= outcome.level


def find_keepers(snapshot: Snapshot, known: LevelOnDate) -> tuple[Outcome, ...]:
    """Return the outcomes that make the level known count anew, by course id.

    Those that reach it or more, and of renewing ones those that someone who stands so can use: of a level held the
    refreshers of just this level.
    """
    level = known.level or 0
    return tuple(
        outcome
        for outcome in snapshot.get_outcomes_of_competency(known.competency)
        if outcome.level >= level and can_use_outcome(outcome, known)
    )


def find_last_day_of_use(snapshot: Snapshot, person_id: str, outcome: Outcome, on: date) -> date | None:
    """Return the last day, from a day on which someone can use an outcome, on which they still can; None without end.

    A refresher ends with the level, or with the months that the competency allows after it.
    """
    if not outcome.renews:
        return None
    competency = snapshot.require_competency(outcome.competency)
    ends = {row.valid_until for row in snapshot.get_assessments(person_id, competency.id) if row.valid_until}
    if competency.id in get_linked(snapshot):
        ends.update(day - _DAY for day in find_days_of_change(snapshot, person_id, competency))
    for end in list(ends):
        with suppress(OverflowError):
            ends.add(add_months(end, competency.refresher_months or 0))
    for day in sorted(ends):
        if on <= day < date.max and not can_use_outcome(
            outcome, get_restored_level(snapshot, person_id, competency, day + _DAY)
        ):
            return day
    return None


def find_renewing_courses(
    snapshot: Snapshot, person_id: str, known: LevelOnDate, on: date, planned: Collection[str] = ()
) -> tuple[str, ...]:
    """Return the courses by which a person keeps the level known, by id.

    Those that may begin with what is held on the day, and those that are `planned` anyway.
    """

    def is_open(course_id: str) -> bool:
        return all(
            (get_level(snapshot, person_id, snapshot.competencies[c.competency], on).level or 0) >= c.level
            for c in snapshot.get_entry_conditions(course_id)
        )

    courses = {outcome.course for outcome in find_keepers(snapshot, known)}
    return tuple(sorted(i for i in courses if i in planned or is_open(i)))
