"""Certificates that lapse while a plan runs, and the courses that renew them. Pure.

A certificate is renewed within the thirteen weeks before its last day, so that little of it is given away (common
practice, no source); only where something needs it: the target role, the present role, or a course of the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Annotated, Final

from ontology.analysis.paths.catalogue import get_cents, get_minutes
from ontology.analysis.paths.expected import expect_assessment
from ontology.analysis.paths.lapses import LapsingLevel, find_lapses
from ontology.analysis.paths.offers import list_conditions
from ontology.analysis.paths.path_courses import is_refreshed
from ontology.analysis.paths.renewing import can_use_outcome, find_last_day_of_use
from ontology.analysis.profiles.profile import Profile, get_restored_level
from ontology.analysis.schedule.fixed_days import FixedDays
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RENEWAL_DAYS", "Lapsing", "find_ends_of_use", "find_lapsing", "find_lapsing_again"]

#: Days before its last day from which on a certificate is renewed.
RENEWAL_DAYS: Final = 91


@dataclass(frozen=True, slots=True)
class Lapsing:
    """A certificate that would lapse before a plan ends.

    `valid_until` is the last day it counts. `needed_for` names the roles and courses that ask for it. `renewal` is the
    course planned, None with the reason in `reason`; `renewed_on` the day it ends, `is_in_time` whether that is no
    later than `valid_until`.
    """

    competency: Annotated[str, "Id of the competency."]
    label: Annotated[str, "Its label."]
    level: Annotated[int, "The level held."]
    valid_until: Annotated[dt.date, "The last day it counts."]
    needed_for: Annotated[tuple[str, ...], "Roles and courses that ask for it."]
    renewal: Annotated[str | None, "The course planned to renew it."]
    renewed_on: Annotated[dt.date | None, "The day that course ends."]
    is_in_time: Annotated[bool | None, "Whether that is no later than its last day."]
    reason: Annotated[str, "Why nothing is planned, or what is wrong with it; empty otherwise."]


def find_lapsing(
    snapshot: Snapshot,
    profile: Profile,
    on: dt.date,
    finish: dt.date,
    role_id: str,
    course_ids: Sequence[str],
    booked: AbstractSet[str] = frozenset(),
    fixed: Mapping[str, FixedDays] | None = None,
) -> tuple[Lapsing, ...]:
    """Return what a person holds on a day and would no longer hold when the plan ends, by last day, with a renewal.

    Parameters
    ----------
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
    fixed : mapping, optional
        Course id -> the days on which it is held: one that renews in time comes before cheaper ones.
    """
    if profile.kind != "person" or profile.held_by not in snapshot.people:
        return ()
    found = []
    for row in find_lapses(snapshot, profile.held_by, profile.levels, on, finish, course_ids):
        needed = _list_needs(snapshot, row.competency, (role_id, profile.role), course_ids)
        renewal, reason = _choose(snapshot, row, needed, course_ids, booked, fixed or {})
        label = snapshot.competencies[row.competency].label
        found.append(Lapsing(row.competency, label, row.level, row.valid_until, needed, renewal, None, None, reason))
    return tuple(sorted(found, key=lambda row: (row.valid_until, row.competency)))


def _list_needs(
    snapshot: Snapshot, competency_id: str, role_ids: Iterable[str], course_ids: Iterable[str]
) -> tuple[str, ...]:
    roles = [
        role_id
        for role_id in dict.fromkeys(role_ids)
        if any(r.competency == competency_id and r.necessity != "desirable" for r in snapshot.get_requirements(role_id))
    ]
    courses = [i for i in course_ids if any(asked == competency_id for asked, _ in list_conditions(snapshot, i))]
    return (*roles, *courses)


def _choose(
    snapshot: Snapshot,
    lapse: LapsingLevel,
    needed_for: Sequence[str],
    course_ids: Sequence[str],
    booked: AbstractSet[str],
    fixed: Mapping[str, FixedDays],
) -> tuple[str | None, str]:
    """Return the course that keeps a level with the fewest hours, then least cost, then first id; or why none does.

    One in which there is a seat in time comes first, the session that ends first before others.
    A refresher that stands in the plan anyway has to come in time; a full course there gives the level whenever it is.
    """
    planned = [i for i in lapse.renewed_by if i in course_ids]
    refreshers = [i for i in planned if is_refreshed(snapshot, i, lapse.competency, lapse.level)]
    full = [i for i in planned if i not in refreshers]
    if refreshers and not full:
        return min(booked & set(refreshers) or refreshers), ""
    if full:
        return None, f"The course {full[0]} of this plan gives it anew."
    if not needed_for:
        return None, "Neither the target role, nor the present one, nor a course of this plan asks for it."
    if not lapse.renewed_by:
        return None, "No course renews it from the levels held now."

    in_time = [(fixed[i].last_day, i) for i in lapse.renewed_by if i in fixed]
    in_time = [row for row in in_time if row[0] <= lapse.valid_until]
    if in_time:
        return min(in_time)[1], ""

    def get_price(course_id: str) -> tuple[int, int, str]:
        course = snapshot.courses[course_id]
        return get_minutes(course.hours), get_cents(course.cost), course_id

    return min(lapse.renewed_by, key=get_price), ""


def find_ends_of_use(
    snapshot: Snapshot, profile: Profile, on: dt.date, course_ids: Iterable[str]
) -> dict[str, dt.date]:
    """Return course id -> the last day on which it still restores what a person lost, of courses that do."""
    if profile.kind != "person" or profile.held_by not in snapshot.people:
        return {}
    ends: dict[str, dt.date] = {}
    for course_id in course_ids:
        for outcome in snapshot.get_outcomes(course_id):
            if outcome.renews and profile.get(outcome.competency) < outcome.level:
                known = get_restored_level(snapshot, profile.held_by, snapshot.competencies[outcome.competency], on)
                if can_use_outcome(outcome, known):
                    last = find_last_day_of_use(snapshot, profile.held_by, outcome, on) or dt.date.max
                    ends[course_id] = min(ends.get(course_id, last), last)
    return ends


def find_lapsing_again(
    snapshot: Snapshot,
    ends: Mapping[str, dt.date],
    finish: dt.date,
    role_id: str,
    course_ids: Sequence[str],
    person_id: str | None = None,
) -> tuple[Lapsing, ...]:
    """Return the certificates earned or renewed in a plan that lapse again before it ends.

    Parameters
    ----------
    ends : mapping
        Course id -> its last day, for every course of the plan.
    person_id : str, optional
        Who takes the courses: what is renewed within its window counts from the last day of what they hold.
    """
    latest: dict[tuple[str, int], dt.date] = {}
    for course_id, day in ends.items():
        for outcome in snapshot.get_outcomes(course_id):
            competency = snapshot.competencies[outcome.competency]
            if competency.expiry != "hard" or competency.validity_months is None:
                continue
            known = () if person_id is None else snapshot.get_assessments(person_id, competency.id)
            until = expect_assessment(person_id or "", competency, outcome.level, day, known).valid_until
            if until is None:
                continue
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
