"""By when people need a course because they must hold what it gives: one row of a person for each course. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from ontology.analysis.obligations.due_lists import find_obligations
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
    ids = snapshot.people if people is None else people
    given = {row.competency for row in snapshot.get_outcomes(course_id)}
    found: dict[str, CourseDue] = {}
    for row in find_obligations(snapshot, on, ids, competencies=given) if given else ():
        if row.course == course_id:
            due = CourseDue(row.person, row.due, row.booked_session is not None)
            known = found.get(row.person)
            if known is None or (known.due is not None and (due.due is None or due.due < known.due)):
                found[row.person] = due
    return [found[person_id] for person_id in sorted(found)]
