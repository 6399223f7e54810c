"""Who goes to which session so that what must be held is held in time, and cover is kept. Pure.

An exact plan: the aims in their order, and of all best plans the first. It books nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.paths.aims import get_whole_cents, get_whole_minutes
from ontology.analysis.sessions.plan_check import compute_cents, compute_value, find_broken_rule
from ontology.analysis.sessions.plan_cover import build_cover_rows, get_calendars, with_booked_outcomes
from ontology.analysis.sessions.plan_model import Limits, build_model, count_seated
from ontology.analysis.sessions.plan_places import find_places_at_risk
from ontology.analysis.sessions.plan_result import LeftOut, PlannedSeat, PlannedSession, SessionPlanResult
from ontology.analysis.sessions.plan_rows import Asked, PlanRow, Seat, build_rows, find_open_sessions
from ontology.analysis.sessions.plan_solver import Choice, find_plan
from ontology.errors import InputError, SolverError
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LONGEST_PLAN_DAYS", "plan_sessions"]

#: A plan reaches at most so many days ahead.
LONGEST_PLAN_DAYS: Final = 366
_NO_ROOM: Final = "no seat is left that keeps cover, groups, hours and budget"
_NOT_FIRST: Final = "Every aim is proved; the time limit struck before it was settled which of equal plans comes first."
_SHOWN_UP: Final = "Every seat is taken as one that is passed, and cover is kept for needs; places at risk are listed."


def plan_sessions(
    snapshot: Snapshot,
    on: date,
    *,
    until: date,
    courses: frozenset[str] = frozenset(),
    team: str | None = None,
    hours_per_week: float | None = None,
    budget: float | None = None,
    time_limit_s: float | None = None,
) -> SessionPlanResult:
    """Return who goes to which session by a day.

    Parameters
    ----------
    on : date
        Levels are those dated up to this day; sessions are planned from it on.
    until : date
        Sessions end by it; rows are due by it.
    courses : frozenset of str
        Only these; all where empty.
    team : str or None
        Only its people.
    hours_per_week : float or None
        Most hours of courses of a person that begin in one week with a new seat.
    budget : float or None
        Most that seats, trips and opened sessions may cost.

    Returns
    -------
    SessionPlanResult
        Every rule is checked again, and every aim counted again, from the seats alone.

    Raises
    ------
    UnknownIdError
        There is no such course or team.
    InputError
        The last day lies before the day asked about or more than a year after it, or a limit is below 0.

    Notes
    -----
    An integer program for each aim, then some for the order of equals. A row is a person and a course.
    """
    _require(snapshot, on, until, courses, team)
    _require_limits(hours_per_week, budget)
    asked = Asked(on, until, courses, team or "")
    sessions = find_open_sessions(snapshot, asked)
    everyone = build_rows(snapshot, asked)
    rows = [row for row in everyone if row.course in sessions]
    limits = Limits(
        None if hours_per_week is None else get_whole_minutes(hours_per_week),
        None if budget is None else get_whole_cents(budget),
    )
    base = with_booked_outcomes(leave_out_later(snapshot, on))
    calendars = get_calendars(base, rows, until)
    cover = build_cover_rows(base, rows, calendars)
    program = build_model(snapshot, on, rows, cover, limits)
    nobody: Choice = (None,) * len(rows)
    solved = find_plan(program, [len(row.seats) for row in rows], nobody, time_limit_s)
    broken = find_broken_rule(snapshot, on, rows, cover, limits, solved.choice)
    if broken:
        raise SolverError(f"the plan breaks a rule: {broken}")
    value = compute_value(snapshot, rows, solved.choice)
    taken = [(row, None if i is None else row.seats[i]) for row, i in zip(rows, solved.choice, strict=True)]
    seated = [(row, seat) for row, seat in taken if seat is not None]
    left = [row for row, seat in taken if seat is None] + [row for row in everyone if row.course not in sessions]
    return SessionPlanResult(
        on=on,
        until=until,
        status="optimal" if solved.unproved is None else "feasible",
        lower_bound=solved.lower_bound,
        unproved_aim=solved.unproved,
        late=value.late,
        unseated=value.unseated,
        days_past_due=value.days_past_due,
        unseated_requests=value.unseated_requests,
        sessions_opened=value.sessions_opened,
        trips=value.trips,
        days_given_away=value.days_given_away,
        cost=compute_cents(snapshot, rows, solved.choice) / 100,
        seats=tuple(
            PlannedSeat(row.person, row.course, seat.session.id, row.due, not seat.is_in_time, row.is_request)
            for row, seat in seated
        ),
        left_out=tuple(
            LeftOut(row.person, row.course, row.due, row.is_request, row.reason or _NO_ROOM)
            for row in sorted(left, key=lambda row: (row.person, row.course))
        ),
        sessions=tuple(_describe([s for group in sessions.values() for s in group], snapshot, seated)),
        places_at_risk=tuple(find_places_at_risk(base, calendars, seated)),
        remarks=(_SHOWN_UP,) if solved.is_settled or solved.unproved else (_SHOWN_UP, _NOT_FIRST),
    )


def _require(snapshot: Snapshot, on: date, until: date, courses: frozenset[str], team: str | None) -> None:
    for course_id in sorted(courses):
        snapshot.require_course(course_id)
    if team is not None:
        snapshot.require_team(team)
    if until < on:
        raise InputError("The last day must not lie before the day asked about.", parameter="until", value=until)
    if (until - on).days > LONGEST_PLAN_DAYS:
        about = f"The last day must be within {LONGEST_PLAN_DAYS} days of the day asked about."
        raise InputError(about, parameter="until", value=until)


def _require_limits(hours_per_week: float | None, budget: float | None) -> None:
    for name, limit in (("hours_per_week", hours_per_week), ("budget", budget)):
        if limit is not None and not limit >= 0:
            raise InputError("A limit is 0 or more.", parameter=name, value=limit)


def _describe(
    sessions: Sequence[Session], snapshot: Snapshot, seated: Sequence[tuple[PlanRow, Seat]]
) -> Iterator[PlannedSession]:
    planned = Counter(seat.session.id for _, seat in seated)
    for session in sorted(sessions, key=lambda row: (row.from_date, row.id)):
        seats = snapshot.courses[session.course].seats if session.seats is None else session.seats
        booked = count_seated(snapshot, session)
        taken = planned[session.id]
        days = session.from_date, session.to_date
        yield PlannedSession(session.id, session.course, *days, seats, booked, taken, is_held=bool(booked or taken))
