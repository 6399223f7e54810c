"""A development plan as events of a calendar file (RFC 5545): courses, follow-up days, last days of certificates."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from api.desk.names import amount
from api.questions._calendars import build_calendar_form
from loaders.calendar_file import CalendarEvent
from ontology.analysis.profiles.seats import find_usable_seats
from ontology.model.work_records import Session

if TYPE_CHECKING:
    from api.desk.desk import Answer

#: What to ask on a follow-up day, by months.
ASKS: Final = {
    1: "Is it used at work? What is in the way?",
    6: "Is it still used? Is the level seen, and by whom?",
    12: "What came of it? Assess again where the work can hurt someone.",
}


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    plan: Any = answer.result
    enquiry = answer.enquiry
    owner = f"{enquiry.state.snapshot.store_id}/{enquiry.subject.id}/{plan.role}"
    caution = "\n".join(enquiry.question.cautions[:2])
    rates = {course.id: course.hours_per_week for course in plan.schedule.courses}
    seats = find_usable_seats(enquiry.state.snapshot, enquiry.subject.id, enquiry.asked.on)
    for step in plan.steps:
        about = [
            *([_tell_booked(seats.get(step.course))] if step.is_booked else []),
            f"{amount(step.study_hours)} h of study, about {amount(rates[step.course])} h a week.",
            *(f"{row.label}, level {row.level} ({row.level_label})." for row in step.outcomes),
            caution,
        ]
        kind = "Renewal" if step.is_renewal else "Course"
        yield CalendarEvent(
            key=f"{owner}/course/{step.course}",
            first_day=step.first_day,
            last_day=step.last_day,
            summary=f"{kind}: {step.label}",
            description="\n".join(about),
            category=kind,
        )
        for follow_up in step.follow_ups:
            months = follow_up.months
            practice = [f"{row.label}: {row.practice}" for row in step.outcomes]
            yield CalendarEvent(
                key=f"{owner}/follow-up/{step.course}/{months}",
                first_day=follow_up.day,
                last_day=follow_up.day,
                summary=f"Follow-up after {months} {'month' if months == 1 else 'months'}: {step.label}",
                description="\n".join([ASKS[months], *practice]),
                category="Follow-up",
            )
    for row in plan.schedule.lapsing:
        yield CalendarEvent(
            key=f"{owner}/lapse/{row.competency}/{row.level}/{row.valid_until}",
            first_day=row.valid_until,
            last_day=row.valid_until,
            summary=f"Last day: {row.label}",
            description=f"Renewed by {row.renewal}." if row.renewal else row.reason,
            category="Certificate",
        )


CALENDAR: Final = build_calendar_form(lambda answer: f"Development plan: {answer.result.role_label}", _iterate_events)


def _tell_booked(session: Session | None) -> str:
    if session is None:
        return "Booked already; the date booked is not known here."
    where = f", {session.where}" if session.where else ""
    return f"Booked already: session {session.id}{where}."
