"""The sessions in which a person has a seat, waits for one, or had one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.names import Names
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._calendars import build_calendar_form, name_subject
from api.questions._sessions import build_seat_event, name_session, show_booking_state, show_days
from loaders.calendar_file import CalendarEvent
from ontology.analysis.sessions.seat_lists import PersonBookings, find_bookings

if TYPE_CHECKING:
    from api.desk.desk import Answer


def show(result: PersonBookings, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return every booking, by day."""
    return Sheet(
        title=f"Sessions of {names.person(result.person)}, {result.on}",
        lead=_tell(result, names),
        parts=(
            build_table(
                "Sessions",
                result.rows,
                (
                    words("days", lambda row: show_days(row.first_day, row.last_day)),
                    words("course", lambda row: names.ref("courses", row.course)),
                    words("where", lambda row: row.where or "–"),
                    words("site", lambda row: names.ref("sites", row.site)),
                    words("seat", lambda row: show_booking_state(row.state)),
                    words("session", lambda row: row.session_state),
                    words("booked or asked", lambda row: row.booked_on),
                ),
                "No session is booked or asked for.",
            ),
        ),
        next=(Next("What must be held, and by when", "person-obligations", result.person, {"on": str(result.on)}),),
    )


def _tell(result: PersonBookings, names: Names) -> str:
    """Return the next session with a seat, and what is waited for."""
    ahead = [row for row in result.rows if row.last_day >= result.on and row.session_state != "cancelled"]
    seats = [row for row in ahead if row.state == "booked"]
    waiting = sum(row.state in ("asked", "waiting") for row in ahead)
    waits = f" {waiting} more asked for." if waiting else ""
    if not seats:
        return f"No seat in a session is booked from this day on.{waits}"
    first = seats[0]
    more = f", and {len(seats) - 1} after it" if len(seats) > 1 else ""
    return f"The next session is {name_session(names, first.course, first.first_day, first.last_day)}{more}.{waits}"


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    result: Any = answer.result
    snapshot = answer.enquiry.state.snapshot
    names = Names(snapshot)
    for row in result.rows:
        if row.status is not None:
            yield build_seat_event(
                snapshot.store_id,
                result.person,
                row.session,
                days=(row.first_day, row.last_day),
                summary=f"Course: {names.course(row.course)}",
                where=row.where,
                status=row.status,
            )


QUESTION = Question(
    asks={PERSON: AskOnDay},
    answers=PersonBookings,
    compute=by_names(find_bookings),
    cautions=(cautions.NO_MARK, cautions.NO_ROSTER_LAW),
    needs=Kind.STANDING,
    show=show,
    files={"ics": build_calendar_form(lambda answer: f"Sessions of {name_subject(answer)}", _iterate_events)},
)
