"""What of people has been kept for long enough: those who left, and assessments that have long ceased to count. Pure.

An assessment counts on a day where a level that is held rests on it, where a refresher could still restore it, where it
limits what a manager may say, or where it is the latest that a person says of themselves. Nothing that counts on a day
less than so many months ago is found here, so the levels of all those days stay as they are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.analysis.profiles.own_levels import (
    DECLARED_SOURCES,
    find_assessor_limit,
    find_own_days,
    get_own_levels,
    get_restorable_until,
    is_counted,
)
from ontology.model.records import Assessment, Competency
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Overdue", "find_overdue"]

_HELD: Final = ("ok", "review-due")


@dataclass(frozen=True, slots=True)
class Overdue:
    """Whom and what to keep no longer: ids of people, and assessments of others, in the order of their keys."""

    people: tuple[str, ...]
    assessments: tuple[Assessment, ...]


def find_overdue(snapshot: Snapshot, today: date, *, people_months: int, assessments_months: int) -> Overdue:
    """Return what has been kept for long enough.

    Parameters
    ----------
    people_months : int
        For so long after their last day people are kept; 0: without end.
    assessments_months : int
        For so long after the last day they counted assessments are kept; 0: without end.

    Notes
    -----
    O(k^2) for k assessments of one person in one competency, which are few.
    """
    left = _get_day_before(today, people_months)
    people = sorted(
        person.id
        for person in snapshot.people.values()
        if left is not None and person.end_date is not None and person.end_date < left
    )
    cutoff = _get_day_before(today, assessments_months)
    if cutoff is None:
        return Overdue(tuple(people), ())
    pairs: defaultdict[tuple[str, str], list[Assessment]] = defaultdict(list)
    for one in snapshot.list_assessments():
        pairs[one.person, one.competency].append(one)
    gone = set(people)
    found: list[Assessment] = []
    for (person, competency), own in sorted(pairs.items()):
        if person not in gone and competency in snapshot.competencies:
            found += _find_past(snapshot, own, snapshot.competencies[competency], cutoff)
    past = {id(one) for one in found}
    used = {snapshot.get_recorded_of(one) for own in pairs.values() for one in own if id(one) not in past}
    found = [one for one in found if snapshot.get_recorded_of(one) is None]
    retired = snapshot.retired.competencies
    for one in snapshot.retired.get_table("assessments").values():
        # it counted until its competency was retired, and counts on where it is read for another
        if one.person not in gone and one not in used and _is_before(one.date, retired[one.competency], cutoff):
            found.append(one)
    return Overdue(tuple(people), tuple(found))


def _is_before(day: date, competency: Competency, cutoff: date) -> bool:
    return day < cutoff and competency.retired_on is not None and competency.retired_on < cutoff


def _get_day_before(today: date, months: int) -> date | None:
    try:
        return add_months(today, -months) if months else None
    except OverflowError:
        return None


def _find_past(snapshot: Snapshot, own: Iterable[Assessment], competency: Competency, cutoff: date) -> list[Assessment]:
    """Return the assessments of a person in a competency that count on no day from the cutoff on."""
    known = sorted(own, key=lambda one: (one.date, one.source, one.assessor, one.level))
    candidates = [one for one in known if one.date < cutoff]
    if not candidates:
        return []
    needed, lapsed = _find_needed(snapshot, known, competency, cutoff)
    found = [one for one in candidates if _is_over(one, competency, needed, cutoff)]
    if not competency.is_certificate and any(is_counted(one, competency) for one in known if one not in found):
        # without a later one that has ended, one before it would count again
        found = [one for one in found if (one.date, one.source) not in lapsed]
    return found


def _find_needed(
    snapshot: Snapshot, known: list[Assessment], competency: Competency, cutoff: date
) -> tuple[set[tuple[date, str]], set[tuple[date, str]]]:
    """Return day and source of what counts on a day from the cutoff on, and of what levels then have ended with."""
    person = known[0].person
    changes = (date.fromordinal(day) for day in find_own_days(snapshot, person, competency))
    needed: set[tuple[date, str]] = set()
    lapsed: set[tuple[date, str]] = set()
    for day in (cutoff, *(day for day in changes if day > cutoff)):
        (level,) = get_own_levels(snapshot, person, [competency], day)
        by_then = [one for one in known if one.date <= day and one.withdrawn_on is None]
        limit = find_assessor_limit(competency, by_then)
        if limit is not None:
            needed.add((limit.date, limit.source))
        said = [one for one in by_then if one.source in DECLARED_SOURCES]
        needed |= {(one.date, one.source) for one in said if one.date == said[-1].date}
        if level.basis is not None:
            (needed if level.state in _HELD else lapsed).add((level.basis.date, level.basis.source))
    return needed, lapsed


def _is_over(one: Assessment, competency: Competency, needed: set[tuple[date, str]], cutoff: date) -> bool:
    if one.withdrawn_on is not None:
        return one.withdrawn_on < cutoff
    if (one.date, one.source) in needed:
        return False
    months = competency.refresher_months
    if months is None or one.valid_until is None:
        return True
    return get_restorable_until(one.valid_until, months) < cutoff
