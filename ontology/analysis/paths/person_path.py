"""What a learning path says of a person beyond their profile: the levels that would lapse on the way. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from ontology.analysis.paths.lapses import find_lapses, get_study_end
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.graph.snapshot import Snapshot

__all__ = ["add_lapses"]


def add_lapses(snapshot: Snapshot, person_id: str, result: LearningPathResult, on: date) -> LearningPathResult:
    """Return the path with the levels that lapse before its study hours, booked ones included, can be done.

    Looked at are the requirements of the role (or the targets) and what the courses ask for.

    Raises
    ------
    UnknownIdError
        There is no such person.
    """
    person = snapshot.require_person(person_id)
    minutes = round((result.study_hours + result.booked_hours) * 60)
    until = get_study_end(on, minutes, person.study_hours_per_week)
    if until is None:
        return result
    wanted = {*result.targets, *(row.competency for row in result.requirements)}
    for course_id in result.order:
        wanted.update(condition.competency for condition in snapshot.get_entry_conditions(course_id))
    return replace(result, lapses=find_lapses(snapshot, person_id, wanted, on, until))
