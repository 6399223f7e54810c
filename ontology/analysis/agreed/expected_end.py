"""When what is open of an agreed plan is done, and whether its target is reached then. Pure.

The plan goes on as agreed: what is under way or to come keeps its days, what is booked has those of its session, and
what is late, or cannot have begun, begins as soon as it can. A course attended counts as passed until an assessment
says otherwise.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ontology.analysis.agreed.course_states import AgreedCourseRow
from ontology.analysis.paths.expected import DoneCourse, with_outcomes
from ontology.analysis.paths.last_day import compute_last_day
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.schedule.fixed_days import FixedDays
from ontology.analysis.schedule.schedule import DEFAULT_AT_ONCE, plan_schedule
from ontology.errors import InputError
from ontology.model.agreement_records import AgreedPlan
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ExpectedEnd", "find_expected_end"]


@dataclass(frozen=True, slots=True)
class ExpectedEnd:
    """The day by which what is open is done (None: nothing is, or can be), and whether the target is reached then.

    `missing` are the requirements whose level is not held by then. `is_on_time`: the target is reached on the last day
    of the plan, with what is done by then; None where that cannot be told: `reason` says why. `renewals` are courses
    that are no part of the plan and have to be taken besides, so that nothing lapses until then.
    """

    day: dt.date | None
    is_target_reached: bool
    is_on_time: bool | None
    missing: tuple[str, ...] = ()
    renewals: tuple[str, ...] = ()
    reason: str = ""


def find_expected_end(
    snapshot: Snapshot,
    plan: AgreedPlan,
    rows: Sequence[AgreedCourseRow],
    on: dt.date,
    *,
    time_limit_s: float | None = None,
) -> ExpectedEnd:
    """Return when what is open of a plan is done if it goes on as agreed.

    Parameters
    ----------
    rows : sequence of AgreedCourseRow
        As `find_course_states` gives them for the day.

    Notes
    -----
    A learning path and a schedule from the plan's open courses alone; see `plan_schedule`.
    """
    passed = [DoneCourse(plan.person, row.course, row.done_on or on) for row in rows if row.state == "done"]
    unconfirmed = {row.course for row in rows if row.state == "done" and not row.is_confirmed}
    known = with_outcomes(snapshot, [row for row in passed if row.course in unconfirmed])
    still_open = [row for row in rows if row.state != "done"]
    path = _find_open_path(known, plan, frozenset(row.course for row in still_open), on, time_limit_s)
    if not path.targets:
        return ExpectedEnd(None, path.is_target_reached, None, reason="The role asks for nothing: there is no target.")
    profile = build_profile(known, plan.person, on)
    fixed = dict(_iterate_days(known, profile, still_open, on))
    at_once = max(DEFAULT_AT_ONCE, _count_at_once(fixed.values()))
    try:
        schedule = plan_schedule(known, profile, path, on=on, at_once=at_once, fixed=fixed, time_limit_s=time_limit_s)
    except InputError as error:
        return ExpectedEnd(None, False, None, reason=error.detail)
    last_day = max((row.last_day for row in rows), default=on)
    done = [DoneCourse(plan.person, row.id, row.last_day) for row in schedule.courses if row.last_day <= last_day]
    by_then = compute_last_day(known, plan.person, plan.role, path.targets, (), done, last_day)
    return ExpectedEnd(
        day=schedule.finish,
        is_target_reached=schedule.is_target_reached,
        is_on_time=by_then.is_target_reached,
        missing=tuple(row.competency for row in schedule.missing),
        renewals=tuple(row.id for row in schedule.courses if row.id not in path.order and row.id not in fixed),
    )


def _find_open_path(
    snapshot: Snapshot, plan: AgreedPlan, still_open: frozenset[str], on: dt.date, time_limit_s: float | None
) -> LearningPathResult:
    """Return the path that takes every open course, needed or not, and no other."""
    path = find_person_path(
        snapshot,
        plan.person,
        plan.role,
        on,
        exclude=frozenset(snapshot.courses.keys() - still_open),
        already_booked=still_open,
        alternatives=0,
        time_limit_s=time_limit_s,
    )
    # those without a seat have yet to be arranged: they wait for their lead time
    seated = tuple(row for row in path.booked if row.session is not None)
    others = tuple(row for row in path.booked if row.session is None and row.is_possible)
    return replace(path, booked=seated, courses=others)


def _iterate_days(
    snapshot: Snapshot, profile: Profile, rows: Sequence[AgreedCourseRow], on: dt.date
) -> Iterator[tuple[str, FixedDays]]:
    """Yield the days on which a course is held that is not late; of one under way what is left of them.

    One whose days have begun without what it asks for has not, whatever was agreed.
    """
    for row in rows:
        conditions = snapshot.get_entry_conditions(row.course)
        if row.state == "under-way" and any(profile.get(c.competency) < c.level for c in conditions):
            continue
        first, last = row.first_day, row.last_day
        if row.session_first_day is not None and row.session_last_day is not None:
            first, last = row.session_first_day, row.session_last_day
        if row.state != "late":
            left = Fraction((last - max(first, on)).days + 1, (last - first).days + 1)
            yield row.course, FixedDays(first, last, left)


def _count_at_once(days: Collection[FixedDays]) -> int:
    """Return the most courses that are held on one day."""
    return max((sum(a.first_day <= b.first_day <= a.last_day for a in days) for b in days), default=0)
