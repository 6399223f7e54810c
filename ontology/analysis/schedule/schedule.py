"""A learning path as a calendar: first and last days, hours a week, what waits for what, and the earliest finish. Pure.

A course of h hours and w weeks takes at least w weeks (of five weekdays each; holidays are among them) and h hours of
study; all courses share the weekly hours, spread over Monday to Friday, so a holiday takes its share with it. One that
is held in one piece takes its own weeks, and its hours count against the study hours from its first day on. A course
begins when every entry condition is held at the start or given by a course that has ended the day before or earlier.
Courses booked already take their hours as the others do: on the days of their session where the seat is recorded,
else on the first days that fit.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import product

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.catalogue import get_minutes
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.profiles.seats import find_usable_seats
from ontology.analysis.schedule.fixed_days import FixedDays, find_fixed_days, find_keepable
from ontology.analysis.schedule.leaving import Leaving
from ontology.analysis.schedule.renewals import find_ends_of_use, find_lapsing
from ontology.analysis.schedule.schedule_check import find_faults
from ontology.analysis.schedule.schedule_hours import share_time
from ontology.analysis.schedule.schedule_report import Placed, build_empty, build_result, find_last_day
from ontology.analysis.schedule.schedule_result import ScheduleResult
from ontology.analysis.schedule.schedule_search import MAX_NODES, search_schedule
from ontology.analysis.schedule.schedule_tasks import build_problem
from ontology.analysis.schedule.study_calendar import MAX_SLOTS, SLOTS_PER_WEEK, StudyCalendar
from ontology.errors import InputError, SolverError
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DEFAULT_AT_ONCE", "ScheduleResult", "plan_schedule"]

DEFAULT_AT_ONCE = 2
#: The least a week can give: a minute.
_LEAST_MINUTES = 1


def plan_schedule(
    snapshot: Snapshot,
    profile: Profile,
    path: LearningPathResult,
    *,
    on: dt.date,
    start: dt.date | None = None,
    study_hours_per_week: float | None = None,
    at_once: int = DEFAULT_AT_ONCE,
    holidays: Iterable[dt.date] = (),
    time_limit_s: float | None = None,
    max_nodes: int = MAX_NODES,
    fixed: Mapping[str, FixedDays] | None = None,
) -> ScheduleResult:
    """Return the calendar of a learning path that finishes first.

    Parameters
    ----------
    profile : Profile
        The one the path starts from.
    path : LearningPathResult
        Its courses and the booked ones that are possible are placed, and none is changed for another. What would end
        after the person's last day is left out.
    on : date
        The day the profile is of.
    start : date, optional
        First day of the plan; `on` where left out, the person's first day where that is later.
    study_hours_per_week : float, optional
        The profile's where left out.
    at_once : int
        Most courses that run on one day.
    holidays : iterable of date
        Days without study; so are the days on which the person is away, as far as they are recorded.
    time_limit_s : float or None
        Seconds after which the best schedule so far is returned.
    max_nodes : int
        So does this many choices of the search, on every machine alike.
    fixed : mapping, optional
        Course id -> days on which it is held, besides those of the sessions in which there is a seat.

    Returns
    -------
    ScheduleResult

    Raises
    ------
    InputError
        No hours a week, fewer than one course at once, a start before `on`, or a plan of more than fifty years.
    SolverError
        A schedule breaks its own rules: a fault of this program.

    Notes
    -----
    NP-hard. Certificates that lapse before the finish put their renewals into the plan, which may move the finish:
    the schedule is made again until nothing more lapses, at most once a certificate.
    """
    start = on if start is None else start
    if start < on:
        raise InputError(
            f"The plan cannot start on {start}, before the day asked about, {on}.", parameter="start", value=start
        )
    person = snapshot.people.get(profile.held_by) if profile.kind == "person" else None
    if person is not None and person.start_date is not None:
        start = max(start, person.start_date)
    if at_once < 1:
        raise InputError("At least one course has to run at once.", parameter="at_once")
    rate = profile.study_hours_per_week if study_hours_per_week is None else study_hours_per_week
    if not path.order:
        return build_empty(path, start, rate, at_once)
    minutes = max(get_minutes(rate), _LEAST_MINUTES if rate > 0 else 0)
    calendar = StudyCalendar(start, minutes, {*holidays, *_list_absent_days(snapshot, profile, start)})
    deadline = Deadline(time_limit_s)
    booked = frozenset(row.id for row in path.booked)
    leaving = Leaving(snapshot, person, calendar)
    course_ids = leaving.keep_possible(path.order)
    renewals: dict[str, dt.date] = {}
    usable_until = find_ends_of_use(snapshot, profile, on, course_ids)
    fixed = {**_find_other_seats(snapshot, person, path, on), **find_fixed_days(path), **(fixed or {})}
    nodes_left = max_nodes
    while course_ids:
        placed, nodes = _place(
            snapshot,
            profile,
            calendar,
            course_ids,
            renewals,
            usable_until,
            fixed,
            at_once,
            booked,
            deadline,
            nodes_left,
        )
        nodes_left = max(0, nodes_left - nodes)
        late = leaving.leave_out(placed, course_ids)
        if late is not None:
            course_ids = tuple(i for i in course_ids if i != late)
            renewals = {}
            continue
        finish = calendar.get_day(max(window.last for window in placed.windows))
        found = find_lapsing(snapshot, profile, on, finish, path.role, course_ids, booked, fixed)
        lapsing = leaving.drop_renewals(found)
        added = {row.renewal: row.valid_until for row in reversed(lapsing) if row.renewal not in (None, *renewals)}
        if not added:
            person_id = None if person is None else person.id
            left_out = leaving.left_out
            return build_result(
                snapshot, path, calendar, placed, lapsing, rate, deadline, fixed, person_id=person_id, left_out=left_out
            )
        # one course may renew several: the first that lapses counts
        renewals |= {course_id: day for course_id, day in added.items() if course_id is not None}
        # a seat too late to renew is no renewal: the course is planned anew
        fixed = {i: row for i, row in fixed.items() if i in path.order or row.last_day <= renewals.get(i, row.last_day)}
    assert person is not None, "only who leaves leaves courses out"
    after = find_last_day(snapshot, person.id, path, {}, on)
    return build_empty(path, start, rate, at_once, after=after, left_out=leaving.left_out)


def _find_other_seats(
    snapshot: Snapshot, person: Person | None, path: LearningPathResult, on: dt.date
) -> dict[str, FixedDays]:
    """Return the days of the sessions in which a person has a seat, of courses off the path: they may renew."""
    seats = {} if person is None else find_usable_seats(snapshot, person.id, on)
    return {i: FixedDays(row.from_date, row.to_date) for i, row in seats.items() if i not in path.order}


def _list_absent_days(snapshot: Snapshot, profile: Profile, start: dt.date) -> Iterator[dt.date]:
    """Yield the weekdays on which a person is recorded as away, as far as a plan from this day can reach."""
    if profile.kind != "person":
        return
    reach = dt.timedelta(days=min(MAX_SLOTS // SLOTS_PER_WEEK * 7, (dt.date.max - start).days))
    for absence in snapshot.get_absences(profile.held_by):
        day, last = max(absence.from_date, start), min(absence.to_date, start + reach)
        for _ in range((last - day).days + 1):
            yield day
            # the day after the last one may lie after the year 9999
            day = min(day + dt.timedelta(days=1), last)


def _place(
    snapshot: Snapshot,
    profile: Profile,
    calendar: StudyCalendar,
    course_ids: Sequence[str],
    renewals: dict[str, dt.date],
    usable_until: dict[str, dt.date],
    fixed: Mapping[str, FixedDays],
    at_once: int,
    booked: frozenset[str],
    deadline: Deadline,
    max_nodes: int,
) -> tuple[Placed, int]:
    """Return the courses placed, and the choices it took.

    What has days of its own keeps them before certificates are kept from lapsing; where not all can, those that begin
    last give way.
    """
    nodes = 0
    build = partial(build_problem, snapshot, profile, calendar, course_ids, renewals, at_once)
    build = partial(build, booked=booked, usable_until=usable_until, fixed=fixed)
    kept = find_keepable(build(has_deadlines=False), fixed)
    for number, has_deadlines in product(range(len(kept), -1, -1), (True, False)):
        problem = build(has_deadlines=has_deadlines, kept=kept[:number])
        found = search_schedule(problem, deadline, max_nodes=max(0, max_nodes - nodes))
        nodes += found.nodes
        if found.windows is not None:
            break
    assert found.windows is not None, "without deadlines the rules always give a schedule"
    windows, shares = share_time(problem, found.windows)
    faults = find_faults(problem, windows, shares)
    if faults:
        raise SolverError(f"the schedule breaks its own rules: {'; '.join(faults)}")
    return Placed(problem, windows, shares, found.lower_bound, found.is_proved), nodes
