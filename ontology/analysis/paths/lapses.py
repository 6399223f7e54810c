"""Certificates that would lapse before the last day of a path. Pure.

A forecast for the person, not a schedule: study begins on the day asked about and goes on at so many hours a week.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Annotated

from ontology.analysis.paths.aims import read_decimal
from ontology.analysis.paths.renewing import find_renewing_courses
from ontology.analysis.profiles.levels import get_level
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LapsingLevel", "add_days", "find_lapses", "get_study_end"]


@dataclass(frozen=True, slots=True)
class LapsingLevel:
    """A level that counts now and no longer on the day the study hours are done.

    `renewed_by` names the courses that keep it (`renewing.find_renewing_courses`), by id.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level held now."]
    valid_until: Annotated[date, "The last day it counts."]
    renewed_by: Annotated[tuple[str, ...], "Courses that keep it: refreshers of its level, and courses that reach it."]


def get_study_end(on: date, study_minutes: int, study_hours_per_week: float) -> date | None:
    """Return the first day by which so many minutes can be studied, begun on a day; None where no time is free.

    Examples
    --------
    >>> get_study_end(date(2026, 11, 24), 8 * 60, 4.0)
    datetime.date(2026, 12, 8)
    """
    if not study_minutes:
        return on
    if study_hours_per_week <= 0:
        return None
    return add_days(on, math.ceil(Fraction(study_minutes, 60) / read_decimal(study_hours_per_week) * 7))


def add_days(day: date, days: int) -> date:
    """Return the day so many days later, the last of the calendar where that lies beyond it."""
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return date.max


def find_lapses(
    snapshot: Snapshot,
    person_id: str,
    competency_ids: Iterable[str],
    on: date,
    until: date,
    planned: Collection[str] = (),
) -> tuple[LapsingLevel, ...]:
    """Return the levels with a hard expiry that a person holds on a day and has lost on another, by competency id.

    What an assessment recorded for a day up to then gives anew is not lost. `planned` are courses taken meanwhile.

    Raises
    ------
    UnknownIdError
        There is no such person or competency.
    """
    snapshot.require_person(person_id)
    rows = []
    for i in sorted(set(competency_ids)):
        competency = snapshot.require_competency(i)
        known = get_level(snapshot, person_id, competency, on)
        last = known.basis.valid_until if known.basis else None
        if last is None or last >= until or competency.expiry != "hard":
            continue
        held = known.level or 0
        if (get_level(snapshot, person_id, competency, until).level or 0) >= held:
            continue
        renewing = find_renewing_courses(snapshot, person_id, known, on, planned)
        rows.append(LapsingLevel(i, held, last, renewing))
    return tuple(rows)
