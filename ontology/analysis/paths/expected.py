"""The Snapshot as it is expected once courses are done: their outcomes as assessments on their days. Pure.

So what holds after a plan is asked of the same functions as what holds today. May import the rule of renewal, levels,
validity and the snapshot.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from contextlib import suppress
from datetime import date
from itertools import chain
from typing import Any, NamedTuple

from ontology.analysis.paths.renewing import can_use_outcome
from ontology.analysis.profiles.levels import add_what_they_rest_on
from ontology.analysis.profiles.own_levels import get_own_levels
from ontology.analysis.profiles.profile import get_restored_level
from ontology.model.records import Assessment, Competency, Outcome
from ontology.model.validity import fill_valid_until
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DoneCourse", "expect_assessment", "expect_assessments", "with_outcomes"]


class DoneCourse(NamedTuple):
    """A course that someone is expected to have done on a day."""

    person: str
    course: str
    done_on: date


def with_outcomes(
    snapshot: Snapshot, rows: Iterable[DoneCourse | tuple[str, str, date]], *, usable_on: date | None = None
) -> Snapshot:
    """Return the Snapshot with what courses bring, each outcome assessed on the day its course is done.

    Parameters
    ----------
    snapshot : Snapshot
        Not changed.
    rows : iterable of (person, course, done_on)
        Courses of a person that are done on the same day count in the order given.
    usable_on : date, optional
        The day on which it is decided whether a renewing outcome can be used; the day it is done where left out.

    Returns
    -------
    Snapshot
        With an assessment for each outcome: by certificate for a certificate, else by an assessor; valid until by the
        competency's rule. Left out are renewing outcomes that the person cannot use on the day, and levels below the
        one held then where the latest assessment counts: levels never fall. Itself where nothing is added.

    Raises
    ------
    UnknownIdError
        There is no such person or course.

    Notes
    -----
    O(n) to copy the table of assessments, beside the assessments of the people concerned.
    """
    added = expect_assessments(snapshot, rows, usable_on=usable_on)
    return snapshot.with_changes(("assessments", record) for record in added) if added else snapshot


def expect_assessments(
    snapshot: Snapshot, rows: Iterable[DoneCourse | tuple[str, str, date]], *, usable_on: date | None = None
) -> list[Assessment]:
    """Return what `with_outcomes` adds, person by person."""
    by_person: defaultdict[str, list[tuple[date, str]]] = defaultdict(list)
    for person_id, course_id, done_on in rows:
        snapshot.require_person(person_id)
        snapshot.require_course(course_id)
        by_person[person_id].append((done_on, course_id))
    added = []
    for person_id, done in sorted(by_person.items()):
        done.sort(key=lambda row: row[0])
        added += _assess(snapshot, person_id, done, usable_on)
    return added


def expect_assessment(
    person_id: str, competency: Competency, level: int, day: date, known: Iterable[Assessment]
) -> Assessment:
    """Return what someone who reaches a level on a day is expected to have: valid until by the competency's rule.

    `known` are their other assessments: what is renewed within its window counts from the last day of one of these.
    """
    source = "certificate" if competency.is_certificate else "assessor"
    record = Assessment(person_id, competency.id, level, day, source, None, "", None, "", None)
    with suppress(OverflowError):  # it counts until after the year 9999
        record = fill_valid_until(record, competency, known)
    return record


def _assess(
    snapshot: Snapshot, person_id: str, done: list[tuple[date, str]], usable_on: date | None
) -> list[Assessment]:
    taught = {outcome.competency for _, course_id in done for outcome in snapshot.get_outcomes(course_id)}
    rested_on = add_what_they_rest_on(snapshot, taught)
    recorded = [a for i in rested_on for a in snapshot.get_assessments(person_id, i)]
    links: dict[str, list[Any]] = {
        "competencies": [snapshot.competencies[i] for i in rested_on],
        "equivalences": [row for i in rested_on for row in snapshot.get_equivalences_to(i)],
    }
    # a small Snapshot of the person alone: what an earlier course brings counts for a later one
    alone = Snapshot({**links, "assessments": recorded})
    added: list[Assessment] = []
    for day, course_id in done:
        new = []
        for outcome in snapshot.get_outcomes(course_id):
            competency = alone.competencies[outcome.competency]
            (own,) = get_own_levels(alone, person_id, (competency,), day)
            is_lower = not competency.is_certificate and (own.level or 0) > outcome.level
            if is_lower or not _can_use(snapshot, alone, person_id, outcome, (usable_on, day)):
                continue
            new.append(expect_assessment(person_id, competency, outcome.level, day, chain(recorded, added)))
        # of two levels from one source on one day the lower would count: the later course's stands in for the earlier's
        again = {record.competency for record in new if record.source == "assessor"}
        added = [*(record for record in added if record.date != day or record.competency not in again), *new]
        alone = Snapshot({**links, "assessments": [*recorded, *added]})
    return added


def _can_use(
    snapshot: Snapshot, alone: Snapshot, person_id: str, outcome: Outcome, days: tuple[date | None, date]
) -> bool:
    """Whether a person can use an outcome on one of two days: the first as they stand, the other with all done."""
    if not outcome.renews:
        return True
    return any(
        can_use_outcome(outcome, get_restored_level(known, person_id, known.competencies[outcome.competency], day))
        for known, day in zip((snapshot, alone), days, strict=True)
        if day is not None
    )
