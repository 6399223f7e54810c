"""A team's training timetable as events of a calendar file (RFC 5545): a course and its learner each."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

from api.desk.names import amount
from api.questions._calendars import build_calendar_form
from loaders.calendar_file import CalendarEvent

if TYPE_CHECKING:
    from api.desk.desk import Answer

_DAY: Final = timedelta(days=1)


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    snapshot = answer.enquiry.state.snapshot
    plan: Any = answer.result.plan
    for row in plan.courses:
        course = snapshot.courses[row.course]
        about = [
            f"{amount(course.hours)} h. Done on {row.finished_on.isoformat()}: the level is there once it is assessed."
        ]
        if row.released_until is not None:
            about.append(f"Released from work until {row.released_until.isoformat()}.")
        yield CalendarEvent(
            key=f"{snapshot.store_id}/{plan.team}/training/{row.person}/{row.course}",
            first_day=row.begins_on,
            last_day=max(row.begins_on, row.finished_on - _DAY),
            summary=f"{answer.names.person(row.person)}: {course.label}",
            description="\n".join([*about, *answer.enquiry.question.cautions[:2]]),
            category="Course",
        )


CALENDAR: Final = build_calendar_form(
    lambda answer: f"Training timetable: {answer.names.team(answer.result.plan.team)}", _iterate_events
)
