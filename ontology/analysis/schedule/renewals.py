"""Certificates that lapse while a plan runs, and the courses that renew them. Pure.

A certificate is renewed within the thirteen weeks before its last day, so that little of it is given away (common
practice, no source); only where something needs it: the target role, the present role, or a course of the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Final

from ontology.analysis.paths.catalogue import get_cents, get_minutes
from ontology.analysis.profiles.levels import Profile, build_levels
from ontology.graph.snapshot import Snapshot
from ontology.validity import compute_valid_until

__all__ = ["RENEWAL_DAYS", "Lapsing", "find_lapsing", "find_lapsing_again"]

#: Days before its last day from which on a certificate is renewed.
RENEWAL_DAYS: Final = 91


@dataclass(frozen=True, slots=True)
class Lapsing:
    """A certificate that would lapse before a plan ends.

    `valid_until` is the last day it counts. `needed_for` names the roles and courses that ask for it. `renewal` is the
    course planned, None with the reason in `reason`; `renewed_on` the day it ends, `is_in_time` whether that is no
    later than `valid_until`.
    """

    competency: str
    label: str
    level: int
    valid_until: dt.date
    needed_for: tuple[str, ...]
    renewal: str | None
    renewed_on: dt.date | None
    is_in_time: bool | None
    reason: str


def find_lapsing(
    snapshot: Snapshot,
    profile: Profile,
    on: dt.date,
    finish: dt.date,
    role_id: str,
    course_ids: Sequence[str],
    booked: AbstractSet[str] = frozenset(),
) -> tuple[Lapsing, ...]:
    """Return what a person holds on a day and would no longer hold when the plan ends, by last day, with a renewal.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        A role's profile holds no dates: nothing lapses.
    on, finish : date
        The day of the profile, and the last day of the plan.
    role_id : str
        The target role; the present one counts too.
    course_ids : sequence of str
        The courses of the path.
    booked : set of str
        Those of them that are booked already: one that renews a certificate is its renewal.
    """
    if profile.kind != "person":
        return ()
    found = []
    for competency_id, known in build_levels(snapshot, profile.held_by, on).items():
        held = known.level or 0
        until = known.basis.valid_until if known.basis is not None else None
        competency = snapshot.competencies[competency_id]
        if not held or competency.expiry == "review" or until is None or not on <= until < finish:
            continue
        needed = _list_needs(snapshot, competency_id, (role_id, profile.role), course_ids)
        renewal, reason = _choose(snapshot, profile, competency_id, held, needed, course_ids, booked)
        found.append(Lapsing(competency_id, competency.label, held, until, needed, renewal, None, None, reason))
    return tuple(sorted(found, key=lambda row: (row.valid_until, row.competency)))


def _list_needs(
    snapshot: Snapshot, competency_id: str, role_ids: Iterable[str], course_ids: Iterable[str]
) -> tuple[str, ...]:
    roles = [
        role_id
        for role_id in dict.fromkeys(role_ids)
        if any(r.competency == competency_id and r.necessity != "desirable" for r in snapshot.get_requirements(role_id))
    ]
    courses = [i for i in course_ids if any(c.competency == competency_id for c in snapshot.get_entry_conditions(i))]
    return (*roles, *courses)


def _choose(
    snapshot: Snapshot,
    profile: Profile,
    competency_id: str,
    level: int,
    needed_for: Sequence[str],
    course_ids: Sequence[str],
    booked: AbstractSet[str],
) -> tuple[str | None, str]:
    """Return the renewing course with the fewest hours, then least cost, then first id; or why there is none."""
    outcomes = snapshot.get_outcomes_of_competency(competency_id)
    renewing = {row.course for row in outcomes if row.renews and row.level >= level and row.course in course_ids}
    if booked & renewing:
        return min(booked & renewing), ""
    for outcome in outcomes:
        if outcome.course in course_ids and outcome.level >= level:
            return None, f"The course {outcome.course} of this plan gives it anew."
    if not needed_for:
        return None, "Neither the target role, nor the present one, nor a course of this plan asks for it."
    able = [
        outcome.course
        for outcome in outcomes
        if outcome.renews
        and outcome.level >= level
        and all(profile.get(c.competency) >= c.level for c in snapshot.get_entry_conditions(outcome.course))
    ]
    if not able:
        return None, "No course renews it from the levels held now."

    def get_price(course_id: str) -> tuple[int, int, str]:
        course = snapshot.courses[course_id]
        return get_minutes(course.hours), get_cents(course.cost), course_id

    return min(able, key=get_price), ""


def find_lapsing_again(
    snapshot: Snapshot, ends: Mapping[str, dt.date], finish: dt.date, role_id: str, course_ids: Sequence[str]
) -> tuple[Lapsing, ...]:
    """Return the certificates earned or renewed in a plan that lapse again before it ends.

    Parameters
    ----------
    snapshot : Snapshot
    ends : mapping
        Course id -> its last day, for every course of the plan.
    finish : date
    role_id : str
    course_ids : sequence of str
    """
    latest: dict[tuple[str, int], dt.date] = {}
    for course_id, day in ends.items():
        for outcome in snapshot.get_outcomes(course_id):
            competency = snapshot.competencies[outcome.competency]
            if competency.expiry != "hard" or competency.validity_months is None:
                continue
            try:
                until = compute_valid_until(day, competency.validity_months, competency.validity_rule)
            except OverflowError:
                continue
            assert until is not None
            key = outcome.competency, outcome.level
            latest[key] = max(latest.get(key, until), until)
    return tuple(
        Lapsing(
            competency=competency_id,
            label=snapshot.competencies[competency_id].label,
            level=level,
            valid_until=until,
            needed_for=_list_needs(snapshot, competency_id, (role_id,), course_ids),
            renewal=None,
            renewed_on=None,
            is_in_time=None,
            reason="Earned or renewed in this plan, and over again before its end: renew it once more.",
        )
        for (competency_id, level), until in sorted(latest.items())
        if until < finish
    )
