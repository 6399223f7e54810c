"""An answer as a calendar file (RFC 5545), stamped with the day asked about: the same answer gives the same bytes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from api.desk.question import FileForm
from loaders.calendar_file import CalendarEvent, build_calendar_file

if TYPE_CHECKING:
    from api.desk.desk import Answer


def build_calendar_form(
    tell_name: Callable[[Answer], str], iterate_events: Callable[[Answer], Iterator[CalendarEvent]]
) -> FileForm:
    """Return the form of an answer that is a calendar of this name."""

    def build(answer: Answer) -> bytes:
        made_at = dt.datetime.combine(answer.enquiry.asked.on, dt.time(), dt.UTC)
        return build_calendar_file(iterate_events(answer), name=tell_name(answer), made_at=made_at)

    return FileForm("text/calendar", build)


def name_subject(answer: Answer) -> str:
    """Return the name of whom or what was asked about."""
    subject = answer.enquiry.subject
    return answer.names.get(subject.kind.value, subject.id)
