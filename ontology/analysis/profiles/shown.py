"""Since when a level has been shown anew: the first assessment of some days that gives it. Pure.

So that what was shown before a course is not taken for what came of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ontology.analysis.profiles.levels import is_in_force
from ontology.analysis.profiles.own_levels import get_own_levels, is_counted
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_first_shown"]


def find_first_shown(
    snapshot: Snapshot, person_id: str, competency_id: str, level: int, first: date, last: date
) -> date | None:
    """Return the first day of a span with an assessment that gives a person at least a level; None where there is none.

    The assessment is of that day, counts (a certificate for certificates; no own rating; not taken back), and the level
    stands by all that is known of the day: a manager cannot raise what an assessor found where that can hurt someone.
    An assessment of another competency does where that counts as this one on the day. Whether the level is still held
    later does not matter.

    Notes
    -----
    O(k log k) for k assessments of the pair and of each that counts as it.
    """
    days = list(_iterate_days(snapshot, person_id, competency_id, level, first, last))
    for row in snapshot.get_equivalences_to(competency_id):
        if row.as_level >= level:
            others = _iterate_days(snapshot, person_id, row.competency, row.level, first, last)
            days += [day for day in others if is_in_force(row, day)]
    return min(days, default=None)


def _iterate_days(
    snapshot: Snapshot, person_id: str, competency_id: str, level: int, first: date, last: date
) -> Iterator[date]:
    competency = snapshot.competencies[competency_id]
    for assessment in snapshot.get_assessments(person_id, competency_id):
        is_of_span = first <= assessment.date <= last and assessment.level >= level
        if is_of_span and assessment.withdrawn_on is None and is_counted(assessment, competency):
            (known,) = get_own_levels(snapshot, person_id, (competency,), assessment.date)
            if (known.level or 0) >= level:
                yield assessment.date
