"""How each course of an agreed plan stands on a day: done, booked, under way, late or to come. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final, Literal

from ontology.analysis.profiles.seats import find_usable_seats
from ontology.analysis.profiles.shown import find_first_shown
from ontology.model.agreement_records import AgreedCourse, AgreedPlan
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["COURSE_STATES", "AgreedCourseRow", "CourseState", "find_course_states"]

CourseState = Literal["done", "booked", "under-way", "late", "to-come"]

#: In the order in which they are tried: the first that fits is the state.
COURSE_STATES: Final[tuple[CourseState, ...]] = ("done", "booked", "under-way", "late", "to-come")


@dataclass(frozen=True, slots=True)
class AgreedCourseRow:
    """A course of an agreed plan, with the days agreed and what has come of it.

    `state`, first match: "done" (every outcome was shown by an assessment dated on or after its first day, or a session
    of it was attended that ended since the plan was agreed), "booked" (a seat in a session that is not over),
    "under-way" (today is one of its days), "late" (its last day has passed), "to-come".
    """

    course: Annotated[str, "Id of the course."]
    first_day: Annotated[dt.date, "The first day agreed."]
    last_day: Annotated[dt.date, "The last day agreed."]
    state: Annotated[
        CourseState,
        "The first that fits. done: its outcomes were assessed since its first day, or a session of it was attended "
        "since the plan was agreed; booked: a seat in a session that is not over; under-way: the day is one of its "
        "days; late: its last day has passed; to-come.",
    ]
    days_late: Annotated[int, "Days since its last day where it is late, else 0."]
    study_hours: Annotated[float, "Hours of the learner."]
    done_on: Annotated[dt.date | None, "The day on which it was done; null where it is not."]
    is_confirmed: Annotated[bool, "Whether every outcome was assessed on or after its first day."]
    session: Annotated[str | None, "The session attended, or the one in which there is a seat."]
    session_first_day: Annotated[dt.date | None, "The first day of that session."]
    session_last_day: Annotated[dt.date | None, "Its last day."]


def find_course_states(snapshot: Snapshot, plan: AgreedPlan, on: dt.date) -> tuple[AgreedCourseRow, ...]:
    """Return how each course of a plan stands on a day, by first day, last day and id.

    What is dated after `on` does not count. A course without outcomes is done by a session alone.

    Notes
    -----
    O(courses of the plan x (their outcomes + bookings of the person)).
    """
    seats = find_usable_seats(snapshot, plan.person, on)
    rows = [_judge(snapshot, plan, row, seats, on) for row in snapshot.get_agreed_courses(plan.id)]
    return tuple(sorted(rows, key=lambda row: (row.first_day, row.last_day, row.course)))


def _judge(
    snapshot: Snapshot, plan: AgreedPlan, row: AgreedCourse, seats: Mapping[str, Session], on: dt.date
) -> AgreedCourseRow:
    attended = _find_attended(snapshot, plan, row.course, on)
    is_confirmed, confirmed_on = _find_confirmed(snapshot, plan.person, row, on)
    session = attended
    state: CourseState = "done"
    if attended is None and confirmed_on is None:
        session = seats.get(row.course)
        state = _name_open_state(row, session, on)
    done = [day for day in (attended.to_date if attended else None, confirmed_on) if day is not None]
    return AgreedCourseRow(
        course=row.course,
        first_day=row.first_day,
        last_day=row.last_day,
        state=state,
        days_late=(on - row.last_day).days if state == "late" else 0,
        study_hours=snapshot.courses[row.course].hours,
        done_on=min(done, default=None),
        is_confirmed=is_confirmed,
        session=session.id if session else None,
        session_first_day=session.from_date if session else None,
        session_last_day=session.to_date if session else None,
    )


def _name_open_state(row: AgreedCourse, seat: Session | None, on: dt.date) -> CourseState:
    if seat is not None:
        return "booked"
    if row.first_day <= on <= row.last_day:
        return "under-way"
    return "late" if row.last_day < on else "to-come"


def _find_attended(snapshot: Snapshot, plan: AgreedPlan, course_id: str, on: dt.date) -> Session | None:
    """Return the first session of a course that the person attended and that ended since the plan was agreed."""
    booked = (row.session for row in snapshot.get_bookings(plan.person) if row.state == "attended")
    sessions = [
        session
        for session in (snapshot.sessions[i] for i in booked)
        if session.course == course_id and session.state != "cancelled" and plan.agreed_on <= session.to_date <= on
    ]
    return min(sessions, key=lambda session: (session.to_date, session.id), default=None)


def _find_confirmed(snapshot: Snapshot, person_id: str, row: AgreedCourse, on: dt.date) -> tuple[bool, dt.date | None]:
    """Return whether every outcome has been shown since the first day, and by which day; None where there is none."""
    days = [
        find_first_shown(snapshot, person_id, outcome.competency, outcome.level, row.first_day, on)
        for outcome in snapshot.get_outcomes(row.course)
    ]
    shown = [day for day in days if day is not None]
    if len(shown) < len(days):
        return False, None
    return True, max(shown, default=None)
