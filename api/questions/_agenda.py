"""How an agenda is told: its table, its first sentence, its events in a calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from api.desk.columns import Filled, build_table, words
from api.desk.names import Names, count
from api.desk.sheet import Table
from api.questions._calendars import build_calendar_form, name_subject
from api.questions._obligations import build_obligation_key
from api.questions._orientation import build_item_event, tell_plan
from api.questions._sessions import build_seat_event, show_days
from api.questions._words import show_yes
from loaders.calendar_file import CalendarEvent
from ontology.analysis.agenda.agenda import AgendaKind, AgendaRow
from ontology.analysis.orientation.open_orientation import find_open_items, find_starts

if TYPE_CHECKING:
    from api.desk.desk import Answer

_KINDS: Final[dict[AgendaKind, str]] = {
    "appointment": "appointment",
    "obligation": "to be held",
    "orientation": "first weeks",
    "session": "session",
}


def tell_agenda(rows: Sequence[AgendaRow], on: dt.date, until: dt.date, names: Names | None = None) -> str:
    """Return how much is dated, what is late, and what comes first; with `names`, for whom."""
    if not rows:
        return f"Nothing is dated up to {until}."
    late = sum(row.is_late for row in rows)
    told = f"{count(len(rows), 'thing is', 'things are')} dated up to {until}"
    told += f", {late} of them late." if late else "."
    first = next((row for row in rows if row.day >= on and not row.is_late), None)
    if first is None:
        return told
    who = "" if names is None else f"{names.person(first.person)}, "
    return f"{told} The next is on {first.day}: {who}{first.what}."


def build_agenda_table(rows: Sequence[AgendaRow], names: Names, *, is_of_team: bool) -> Table:
    """Return the rows as a table; of a team with whom each is about."""
    who: tuple[Filled[AgendaRow], ...] = (words("person", lambda row: names.ref("people", row.person)),)
    return build_table(
        "Day by day",
        rows,
        (
            words("day", lambda row: show_days(row.day, row.last_day)),
            *(who if is_of_team else ()),
            words("kind", lambda row: _KINDS[row.kind]),
            words("what", lambda row: row.what),
            words("late", lambda row: show_yes(row.is_late)),
        ),
        "Nothing is dated.",
        "What must be held stands at its last day to act; where there is none, or it has passed, at its due day.",
    )


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    names = answer.names
    snapshot = answer.enquiry.state.snapshot
    result: Any = answer.result
    is_of_person = answer.enquiry.subject.person_id is not None
    people = dict.fromkeys(row.person for row in result.rows if row.kind == "orientation")
    items = {
        (item.person, item.item, item.due): item
        for start in find_starts(snapshot, result.on, people)
        for item in find_open_items(snapshot, result.on, start)
    }
    for row in result.rows:
        who = "" if is_of_person else f"{names.person(row.person)}: "
        if row.kind == "session":
            session = snapshot.sessions[row.id]
            yield build_seat_event(
                snapshot.store_id,
                row.person,
                row.id,
                days=(row.day, row.last_day),
                summary=f"{who}Course: {names.course(session.course)}",
                where=session.where,
            )
        elif row.kind == "orientation":
            item = items[row.person, row.id, row.day]
            yield build_item_event(tell_plan(snapshot, row.person, item.start), item, summary=f"{who}{row.what}")
        else:
            yield _build_event(
                row, snapshot.store_id, f"{who}{row.what}", "\n".join(answer.enquiry.question.cautions[:2])
            )


CALENDAR: Final = build_calendar_form(lambda answer: f"Agenda: {name_subject(answer)}", _iterate_events)


def _build_event(row: AgendaRow, store_id: str, summary: str, about: str) -> CalendarEvent:
    """Return the event of what must be held, or of an appointment that ends."""
    if row.kind == "appointment":
        key, category = f"{store_id}/appointment/{row.person}/{row.id}/{row.day}", "Appointment"
    else:
        is_due = row.due in (None, row.day)
        key = build_obligation_key(store_id, row.person, row.id, row.level or 0, is_due=is_due)
        category = "Obligation"
    return CalendarEvent(key, row.day, row.day, summary, about, category)
