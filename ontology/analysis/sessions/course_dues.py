"""By when people need a course because they must hold what it gives: one row of a person for each course. Pure."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass
from datetime import date

from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.must_hold import find_days
from ontology.analysis.obligations.rows import find_act, judge
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CourseDue", "find_course_dues"]


@dataclass(frozen=True, slots=True)
class CourseDue:
    """By when a person needs a course.

    `due` is the earliest of all that they need it for; None: overdue since before all that is known. `is_booked`:
    whether they have a seat in a session of it that is not over.
    """

    person: str
    due: date | None
    is_booked: bool


def find_course_dues(
    snapshot: Snapshot, course_id: str, on: date, people: Iterable[str] | None = None
) -> list[CourseDue]:
    """Return by when people need a course, in the order of their ids.

    Parameters
    ----------
    people : iterable of str or None
        Ids of those asked about; None: everyone.

    Notes
    -----
    O(what is asked of them x what they have), for the competencies that the course gives.
    """
    given = {row.competency for row in snapshot.get_outcomes(course_id)}
    ids = list(snapshot.people if people is None else people) if given else []
    known = leave_out_later(snapshot, on, ids)
    found = (_find_due(known, course_id, person_id, given, on) for person_id in ids)
    return sorted((due for due in found if due is not None), key=lambda due: due.person)


def _find_due(known: Snapshot, course_id: str, person_id: str, given: Container[str], on: date) -> CourseDue | None:
    """Return by when someone needs a course; None where they do not."""
    asked = [(key, days) for key, days in find_days(known, person_id) if key[0] in given]
    dues: list[date | None] = []
    is_booked = False
    for key, due in judge(known, person_id, asked, on) if asked else ():
        day, first, last = find_act(known, person_id, key, due, on)
        if first is not None and first.course is not None and first.course.id == course_id:
            dues.append(day)
            is_booked = last.booked_session is not None
    return CourseDue(person_id, None if None in dues else min(filter(None, dues)), is_booked) if dues else None
